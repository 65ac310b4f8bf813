"""Backup while running, and restore into an empty home.

A backup is one zip file: ``journal.jsonl`` (every entry, in chain order), the kept files by digest, a manifest with the
heads of all chains, and for a SQLite home also ``vanewise.sqlite3``, taken with SQLite's online backup. The journal
lines alone are enough to restore into either kind of database, and can be read without this program. The secret key
stays out: a restored home makes its own, which only ends open sessions.
"""

from __future__ import annotations

import hashlib
import json
import os
import secrets
import sqlite3
import zipfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import msgspec

from vanewise import __version__
from vanewise.errors import InputError, Problem, wrong
from vanewise.record.chain import entry_digest
from vanewise.store import files, journal
from vanewise.store.settings import current_home

FORMAT = 1
MANIFEST = "manifest.json"
JOURNAL = "journal.jsonl"
DATABASE = "vanewise.sqlite3"


class Backup(msgspec.Struct, frozen=True, kw_only=True):
    """What a backup holds, by its manifest."""

    path: Path
    made_at: str
    program: str
    heads: dict[str, str]
    entries: int
    files: int


def backup(target: Path, *, at: str) -> Backup:
    """Write a backup to ``target`` (a zip file that is not there yet); people may go on writing meanwhile.

    The file gets its name only when it is whole and on disk. Raises InputError when ``target`` exists or cannot be
    written, or when a kept file is torn: a backup that cannot restore is worse than none.
    """
    if target.exists():
        raise wrong(f'backup "{target}"', "a name not in use", "a file of that name", "choose another name")
    temporary = target.with_name(f".{target.name}.{secrets.token_hex(4)}")
    try:
        made = _write(temporary, at)
        _flush(temporary)
        os.replace(temporary, target)
    except OSError as error:
        raise wrong(
            f'backup "{target}"', "room to write it", error.strerror or error, "choose a disk with room"
        ) from error
    finally:
        temporary.unlink(missing_ok=True)
    return msgspec.structs.replace(made, path=target)


def _write(target: Path, at: str) -> Backup:
    heads: dict[str, str] = {}
    count = 0
    snapshot = target.with_name(target.name + ".database")
    try:
        with zipfile.ZipFile(target, "x", zipfile.ZIP_DEFLATED, allowZip64=True) as archive:
            source = _snapshot(snapshot)
            with archive.open(JOURNAL, "w", force_zip64=True) as lines:
                for line in _journal_lines(snapshot if source else None):
                    heads[line["aircraft"]] = line["digest"]
                    count += 1
                    lines.write(json.dumps(line, ensure_ascii=False).encode() + b"\n")
            if source:
                archive.write(snapshot, DATABASE)
            kept = _add_files(archive)
            manifest = {
                "format": FORMAT,
                "made_at": at,
                "program": __version__,
                "heads": heads,
                "entries": count,
                "files": kept,
            }
            archive.writestr(MANIFEST, json.dumps(manifest, indent=1, sort_keys=True))
    finally:
        snapshot.unlink(missing_ok=True)
    return Backup(path=target, made_at=at, program=__version__, heads=heads, entries=count, files=len(kept))


def _snapshot(target: Path) -> bool:
    """SQLite's online backup of the running database into ``target``; False for another database."""
    from django.db import connection

    if connection.vendor != "sqlite":
        return False
    connection.ensure_connection()
    copy = sqlite3.connect(target)
    try:
        connection.connection.backup(copy)
        copy.execute("PRAGMA journal_mode=DELETE")
        copy.commit()
    finally:
        copy.close()
    return True


def _journal_lines(snapshot: Path | None) -> Iterator[dict[str, Any]]:
    """Every entry in chain order, all from one moment: the snapshot, or one read transaction of PostgreSQL."""
    columns = ("aircraft", "prev_digest", "digest", "text")
    if snapshot is not None:
        copy = sqlite3.connect(snapshot)
        try:
            query = f"SELECT {', '.join(columns)} FROM store_entry ORDER BY aircraft, position"
            for row in copy.execute(query):
                yield dict(zip(columns, row, strict=True))
        finally:
            copy.close()
        return
    from django.db import connection, transaction

    from vanewise.store.models import Entry

    with transaction.atomic():
        with connection.cursor() as cursor:
            cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ")
        yield from Entry.objects.order_by("aircraft", "position").values(*columns).iterator(chunk_size=500)


def _add_files(archive: zipfile.ZipFile) -> dict[str, dict[str, Any]]:
    """Add the bytes of every kept file and return their rows. A file kept after this began may be left out."""
    from vanewise.store.models import StoredFile

    kept = {}
    for row in StoredFile.objects.order_by("digest"):
        found = files.trouble(row.digest)
        if found is not None:
            raise InputError(found)
        archive.write(files.path_of(row.digest), f"files/{row.digest}", zipfile.ZIP_STORED)
        kept[row.digest] = {"size": row.size, "media_type": row.media_type, "kept_at": row.kept_at}
    return kept


def look(path: Path) -> Backup:
    """What the backup at ``path`` says it holds. Raises InputError when it is not one, or is torn."""
    manifest = _manifest(path)
    return Backup(
        path=path,
        made_at=manifest["made_at"],
        program=manifest["program"],
        heads=manifest["heads"],
        entries=manifest["entries"],
        files=len(manifest["files"]),
    )


def _manifest(path: Path) -> dict[str, Any]:
    def refuse(found: str) -> InputError:
        return wrong(f'backup "{path}"', "a whole backup file of this program", found, "use another backup")

    try:
        with zipfile.ZipFile(path) as archive:
            torn = archive.testzip()
            if torn is not None:
                raise refuse(f"a torn part: {torn}")
            manifest: dict[str, Any] = json.loads(archive.read(MANIFEST))
    except (OSError, zipfile.BadZipFile, KeyError, ValueError) as error:
        raise refuse(str(error)) from error
    if manifest.get("format") != FORMAT:
        raise refuse(f"format {manifest.get('format')}, made by program version {manifest.get('program')}")
    return manifest


def restore(path: Path) -> Backup:
    """Put a backup into the configured home, which must be empty, and prove that every chain came back whole.

    Raises InputError when the home holds anything, when the backup is torn, or when the restored chains do not end
    in the heads that the manifest names.
    """
    from vanewise.store.models import Entry, StoredFile

    manifest = _manifest(path)
    if Entry.objects.exists() or StoredFile.objects.exists():
        raise wrong(
            f'home folder "{current_home().path}"', "an empty home", "one with entries", "restore into a new folder"
        )
    with zipfile.ZipFile(path) as archive:
        _check_lines(archive, path, manifest["heads"])
        _restore_files(archive, manifest)
        _restore_entries(archive)
    checked = journal.verify()
    if checked.problems:
        raise InputError(checked.problems)
    return look(path)


def _check_lines(archive: zipfile.ZipFile, path: Path, heads: dict[str, str]) -> None:
    """Follow every chain in the backup before a byte is restored, so that a refused one leaves the home empty."""
    found: dict[str, str] = {}
    with archive.open(JOURNAL) as lines:
        for number, line in enumerate(lines, start=1):
            row = json.loads(line)
            whole = entry_digest(row["prev_digest"], row["text"]) == row["digest"]
            if not whole or row["prev_digest"] != found.get(row["aircraft"], journal.NO_HEAD):
                raise wrong(
                    f'backup "{path}", line {number} of the journal',
                    "a text and a place in the chain that give its digest",
                    "another text or order: it was changed",
                    "use another backup",
                )
            found[row["aircraft"]] = row["digest"]
    if found != heads:
        raise wrong(f'backup "{path}"', "the heads its manifest names", "other heads", "use another backup")


def _restore_files(archive: zipfile.ZipFile, manifest: dict[str, Any]) -> None:
    for digest, row in manifest["files"].items():
        data = archive.read(f"files/{digest}")
        if hashlib.sha256(data).hexdigest() != digest:
            raise InputError(
                Problem(
                    where=f"file {digest[:12]} of the backup",
                    expected="bytes that give its digest",
                    found="other bytes",
                    next_step="use another backup",
                )
            )
        files.keep(data, media_type=row["media_type"], at=row["kept_at"])


def _restore_entries(archive: zipfile.ZipFile) -> None:
    """Write the journal's lines as entries, all or none."""
    from django.db import transaction

    from vanewise.store.models import Entry

    with transaction.atomic(), archive.open(JOURNAL) as lines:
        position: dict[str, int] = {}
        batch: list[Entry] = []
        for line in lines:
            row = json.loads(line)
            body = json.loads(row["text"])
            position[row["aircraft"]] = position.get(row["aircraft"], 0) + 1
            batch.append(
                Entry(
                    aircraft=row["aircraft"],
                    position=position[row["aircraft"]],
                    kind=body["kind"],
                    schema_version=body["schema"],
                    text=row["text"],
                    prev_digest=row["prev_digest"],
                    digest=row["digest"],
                    author=body["author"],
                    at=body["at"],
                )
            )
            if len(batch) >= journal.PAGE:
                Entry.objects.bulk_create(batch)
                batch.clear()
        Entry.objects.bulk_create(batch)


def _flush(path: Path) -> None:
    with path.open("rb") as handle:
        os.fsync(handle.fileno())
