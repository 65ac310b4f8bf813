"""Jobs on a whole home folder, for the command line: what is due, verify, backup, restore."""

from __future__ import annotations

import datetime
from pathlib import Path

import msgspec

from vanewise.jobs.answers import Answer
from vanewise.jobs.casebook import now, open_book
from vanewise.store import backup as backups
from vanewise.store import files, journal
from vanewise.store.settings import configure, migrate


def open_home(home: Path, url: str | None = None) -> None:
    """Open a home folder and bring its database to this version. Raises InputError when that cannot be done."""
    configure(home, url)
    migrate()


def due(home: Path, *, today: datetime.date) -> Answer:
    """What next, by when, why: for every aircraft kept in ``home``."""
    from vanewise.jobs import watch

    open_home(home)
    data, words = [], []
    for row in journal.aircraft_rows():
        book = open_book(row[0])
        items = watch.due(book, today)
        data.append({"aircraft": row[0], "name": book.name, "items": msgspec.to_builtins(items)})
        words.append(f"{book.name}")
        words += [f"  {item.item}: {item.state}, {item.left}. {item.why}" for item in items] or ["  nothing kept"]
    return Answer(data={"due": data}, words="\n".join(words) or "No aircraft is kept here.")


def verify(home: Path) -> Answer:
    """Check every chain and file of ``home`` and rebuild what is read from them.

    The answer's data has ``problems``; a broken chain is told, never mended.
    """
    open_home(home)
    checked = journal.verify()
    problems = (*checked.problems, *files.verify())
    swept = files.sweep()
    data = {
        "aircraft": checked.aircraft,
        "entries": checked.entries,
        "heads": dict(checked.heads),
        "problems": msgspec.to_builtins(problems),
        "rebuilt": list(checked.rebuilt),
        "orphans_removed": swept,
    }
    words = [f"{checked.aircraft} aircraft, {checked.entries} entries."]
    words += [f"  head of {name}: {head}" for name, head in checked.heads.items()]
    words += [f"Rebuilt from the journal: {', '.join(checked.rebuilt)}."] if checked.rebuilt else []
    words += [str(problem) for problem in problems] or ["Every chain and every file is whole."]
    return Answer(data=data, words="\n".join(words))


def backup(home: Path, target: Path) -> Answer:
    """Write a backup of ``home`` to ``target`` while people go on writing."""
    open_home(home)
    made = backups.backup(target, at=now())
    data = {"path": str(made.path), "entries": made.entries, "files": made.files, "heads": made.heads}
    return Answer(data=data, words=f"Wrote {made.path}: {made.entries} entries, {made.files} files.")


def restore(source: Path, home: Path) -> Answer:
    """Restore a backup into ``home``, which must be empty, and prove it whole."""
    open_home(home)
    made = backups.restore(source)
    data = {"path": str(source), "entries": made.entries, "files": made.files, "heads": made.heads}
    return Answer(data=data, words=f"Restored {made.entries} entries and {made.files} files; every chain is whole.")
