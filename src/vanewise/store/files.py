"""Photos and documents, kept by the SHA-256 digest of their bytes.

The order of writing is what makes it safe: bytes to a temporary name in the same folder, flushed to disk, renamed,
the folder flushed, and only then the row. A stop at any point leaves at worst a file without a row, which is
harmless and swept a day later; a row never names a file that is not there.
"""

from __future__ import annotations

import hashlib
import os
import secrets
import time
from collections.abc import Iterator
from pathlib import Path

import msgspec

from vanewise.errors import Problem, wrong
from vanewise.store.journal import NotKept
from vanewise.store.settings import current_home

ORPHAN_AGE_S = 24 * 3600


class KeptFile(msgspec.Struct, frozen=True, kw_only=True):
    digest: str
    size: int
    media_type: str
    kept_at: str


def path_of(digest: str) -> Path:
    """Where the bytes of ``digest`` lie. Raises InputError for anything that is not a digest, such as a path."""
    if len(digest) != 64 or any(letter not in "0123456789abcdef" for letter in digest):
        raise wrong("file", "a digest of 64 digits and letters a to f", repr(digest), "take it from the journal")
    return current_home().files / digest[:2] / digest[2:]


def digest_of(data: bytes) -> str:
    """What bytes are called once they are kept."""
    return hashlib.sha256(data).hexdigest()


def keep(data: bytes, *, media_type: str, at: str) -> KeptFile:
    """Keep ``data`` and return what it is called; the same bytes twice are one file.

    Raises NotKept when the disk does not take it; then there is neither a file nor a row.
    """
    from django.db import Error

    from vanewise.store.models import StoredFile

    digest = digest_of(data)
    try:
        _write(path_of(digest), data)
        row, _ = StoredFile.objects.get_or_create(
            digest=digest, defaults={"size": len(data), "media_type": media_type, "kept_at": at}
        )
    except (OSError, Error) as error:
        raise NotKept(
            Problem(
                where="file",
                expected=f"{len(data)} bytes written to disk",
                found=f"the system said: {error}",
                next_step="nothing was kept; free disk space, then send it again",
            )
        ) from error
    return KeptFile(digest=row.digest, size=row.size, media_type=row.media_type, kept_at=row.kept_at)


def _write(target: Path, data: bytes) -> None:
    if target.exists() and target.read_bytes() == data:
        return
    target.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    temporary = target.parent / f".{secrets.token_hex(8)}"
    try:
        descriptor = os.open(temporary, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
        with os.fdopen(descriptor, "wb") as handle:
            handle.write(data)
            handle.flush()
            os.fsync(handle.fileno())
        os.replace(temporary, target)
    except OSError:
        temporary.unlink(missing_ok=True)
        raise
    _flush_folder(target.parent)
    _flush_folder(target.parent.parent)


def _flush_folder(folder: Path) -> None:
    """Make a rename last. Windows cannot open a folder for this, and its rename does not need it."""
    if os.name == "nt":
        return
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)


def read(digest: str) -> tuple[bytes, KeptFile]:
    """The bytes of a kept file, checked against their digest. Raises InputError when missing or changed."""
    from vanewise.store.models import StoredFile

    row = StoredFile.objects.filter(digest=digest).first()
    if row is None:
        raise wrong("file", "a file of this home", digest[:12], "take it from the journal")
    found = trouble(digest)
    if found is not None:
        raise wrong(found.where, found.expected, found.found, found.next_step)
    data = path_of(digest).read_bytes()
    return data, KeptFile(digest=row.digest, size=row.size, media_type=row.media_type, kept_at=row.kept_at)


def trouble(digest: str) -> Problem | None:
    """What is wrong with the bytes of ``digest``, or None."""
    path = path_of(digest)
    where = f"file {digest[:12]}"
    restore = "restore it from the newest backup that has it"
    try:
        found = hashlib.sha256(path.read_bytes()).hexdigest()
    except OSError as error:
        return Problem(where=where, expected="a file that can be read", found=str(error.strerror), next_step=restore)
    if found != digest:
        return Problem(
            where=where, expected="bytes that give its digest", found="other bytes: torn or changed", next_step=restore
        )
    return None


def verify() -> tuple[Problem, ...]:
    """What is wrong with the kept files: every row must have its bytes."""
    from vanewise.store.models import StoredFile

    digests = StoredFile.objects.order_by("digest").values_list("digest", flat=True)
    return tuple(problem for digest in digests if (problem := trouble(digest)) is not None)


def orphans(*, older_than_s: float = ORPHAN_AGE_S) -> Iterator[Path]:
    """Files that no row names and that are older than a day: what an interrupted writing left."""
    from vanewise.store.models import StoredFile

    known = set(StoredFile.objects.values_list("digest", flat=True))
    before = time.time() - older_than_s
    for path in sorted(current_home().files.glob("??/*")):
        if path.parent.name + path.name not in known and path.stat().st_mtime < before:
            yield path


def sweep(*, older_than_s: float = ORPHAN_AGE_S) -> int:
    """Remove the orphans; returns how many."""
    count = 0
    for path in tuple(orphans(older_than_s=older_than_s)):
        path.unlink(missing_ok=True)
        count += 1
    return count
