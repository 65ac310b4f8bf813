"""Jobs on a whole home folder, for the command line: what is due, verify, backup, restore."""

from __future__ import annotations

import datetime
from pathlib import Path
from typing import Final

from vanewise.errors import wrong
from vanewise.jobs.answers import Answer
from vanewise.jobs.casebook import now
from vanewise.jobs.shapes import BackedUp, Due, DueAircraft, Verified
from vanewise.store import backup as backups
from vanewise.store import due_rows, files, journal, passphrase
from vanewise.store.home import Home
from vanewise.store.settings import configure, migrate

ALL: Final = 1_000_000
"""More aircraft than any home has."""


def open_home(home: Path, url: str | None = None) -> None:
    """Open a home folder and bring its database to this version. Raises InputError when that cannot be done."""
    configure(home, url)
    migrate()


def open_kept(home: Path) -> None:
    """Open a home folder that holds records already: a slip in its name must not make an empty one."""
    if not Home(home).database.exists():
        raise wrong(
            str(home), "a home folder with records", "none there", "check the name; vanewise serve makes a new home"
        )
    open_home(home)


def due(home: Path, *, today: datetime.date) -> Answer:
    """What next, by when, why: for every aircraft kept in ``home``, the first first."""
    from vanewise.jobs import due_list
    from vanewise.watch.due import when_words

    open_kept(home)
    found = due_list.listed(today, count=ALL)
    data = Due(due=tuple(DueAircraft(aircraft=one.aircraft, name=one.name, items=one.items) for one in found))
    words = []
    for one in data.due:
        words.append(one.name)
        for item in one.items:
            when = when_words(item)
            words.append(f"  {item.item}: {item.state}, {f'{when}, ' if when else ''}{item.left}. {item.why}")
        words += [] if one.items else ["  nothing kept"]
    return Answer(data=data, words="\n".join(words) or "No aircraft is kept here.")


def verify(home: Path) -> Answer:
    """Check every chain and file of ``home`` and rebuild what is read from them.

    The answer's data has ``problems``; a broken chain is told, never mended.
    """
    open_kept(home)
    checked = journal.verify()
    due_rows.drop_orphans()
    data = Verified(
        aircraft=checked.aircraft,
        entries=checked.entries,
        heads=dict(checked.heads),
        problems=(*checked.problems, *files.verify()),
        rebuilt=checked.rebuilt,
        orphans_removed=files.sweep(),
    )
    words = [f"{data.aircraft} aircraft, {data.entries} entries."]
    words += [f"  head of {name}: {head}" for name, head in data.heads.items()]
    words += [f"Rebuilt from the journal: {', '.join(data.rebuilt)}."] if data.rebuilt else []
    words += [str(problem) for problem in data.problems] or ["Every chain and every file is whole."]
    return Answer(data=data, words="\n".join(words))


def backup(home: Path, target: Path) -> Answer:
    """Write a backup of ``home`` to ``target`` while people go on writing."""
    open_kept(home)
    made = backups.backup(target, at=now())
    data = BackedUp(path=str(made.path), entries=made.entries, files=made.files, heads=made.heads)
    return Answer(data=data, words=f"Wrote {made.path}: {made.entries} entries, {made.files} files.")


def restore(source: Path, home: Path) -> Answer:
    """Restore a backup into ``home``, which must be empty, and prove it whole."""
    if not source.is_file():
        raise wrong(str(source), "a backup file", "none there", "check the name")
    open_home(home)
    made = backups.restore(source)
    data = BackedUp(path=str(source), entries=made.entries, files=made.files, heads=made.heads)
    return Answer(data=data, words=f"Restored {made.entries} entries and {made.files} files; every chain is whole.")


def set_passphrase(home: Path, words: str) -> str:
    """Set the passphrase of ``home``, made where it is missing; says so in words. Raises InputError for weak words."""
    place = Home(home.resolve()).prepare()
    passphrase.set_passphrase(place, words)
    return f"The passphrase of {home} is set. Sessions opened under an earlier one end."
