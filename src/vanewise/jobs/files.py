"""The edge to disk and clock for the command line: reading what is handed in, writing what comes out."""

from __future__ import annotations

import datetime
import os
import secrets
from collections.abc import Mapping
from pathlib import Path
from typing import Final

from vanewise.errors import wrong

LARGEST: Final = 4_000_000
"""Bytes of the largest text read. An aircraft with every part there is takes some 30,000."""


def today() -> datetime.date:
    """The date by this machine's clock; the core takes it as an argument."""
    return datetime.date.today()


def default_home() -> Path:
    """Where records are kept when nobody says otherwise."""
    base = os.environ.get("VANEWISE_HOME")
    return Path(base) if base else Path.home() / "vanewise"


def read_text(path: Path) -> str:
    """The text of a file a person handed in. Raises InputError when it is not there, not text, or far too long."""
    where = _shown(path)
    try:
        with path.open("rb") as stream:
            body = stream.read(LARGEST + 1)
    except FileNotFoundError:
        raise wrong(where, "a file that exists", "no such file", "check the name and the folder you are in") from None
    except IsADirectoryError:
        raise wrong(where, "a file", "a folder", "name the file inside it") from None
    except (OSError, ValueError) as error:
        raise wrong(where, "a readable file", _why(error), "check its name and its permissions") from None
    if len(body) > LARGEST:
        raise wrong(
            where,
            f"a text of at most {LARGEST // 1_000_000} million bytes",
            "more than that",
            "look whether it is the right file",
        )
    try:
        return body.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise wrong(where, "UTF-8 text", f"a byte that is not, at {error.start}", "save it again as UTF-8") from None


def refuse_taken(path: Path, *, force: bool) -> None:
    """Raise InputError when a new file cannot go there: before a person has answered anything."""
    if _is_there(path) and not force:
        raise wrong(_shown(path), "a name not taken yet", "one that is", "choose another name or add --force")
    refuse_blocked(path.parent)


def refuse_blocked(folder: Path) -> None:
    """Raise InputError when ``folder`` is no folder, or could not be made: before anything long is computed."""
    there = folder.absolute()
    while not there.exists() and there != there.parent:
        there = there.parent
    if not there.is_dir() or not os.access(there, os.W_OK | os.X_OK):
        found = "no permission" if there.is_dir() else f"{_shown(there)}, which is no folder"
        raise wrong(_shown(folder), "a folder that can be written", found, "choose another folder")


def write_new(path: Path, text: str, *, force: bool) -> None:
    """Write a new text file; an existing one is kept unless ``force``."""
    refuse_taken(path, force=force)
    write_all(path.parent, {path.name: text.encode()})


def write_all(folder: Path, content: Mapping[str, bytes]) -> None:
    """Write every file of an answer into ``folder``, made where it is missing.

    All are written beside their places and flushed first, and only then named, so that a full disk or a refusal leaves
    what was there as it was. Raises InputError when they cannot be written.
    """
    staged: dict[Path, Path] = {}
    try:
        for name, body in content.items():
            place = folder / name
            place.parent.mkdir(parents=True, exist_ok=True)
            if place.is_dir():
                raise wrong(_shown(place), "a name for a file", "a folder of that name", "choose another name")
            staged[place] = _stage(place, body)
        for place, beside in staged.items():
            os.replace(beside, place)
    except (OSError, ValueError) as error:
        raise wrong(_shown(folder), "a place that can be written", _why(error), "choose another folder") from None
    finally:
        for beside in staged.values():
            beside.unlink(missing_ok=True)


def _stage(place: Path, body: bytes) -> Path:
    """``body`` in a hidden file beside ``place``, flushed to disk; nothing is left of it when that fails."""
    beside = place.with_name(f".{secrets.token_hex(8)}")
    try:
        with beside.open("xb") as stream:
            stream.write(body)
            stream.flush()
            os.fsync(stream.fileno())
    except OSError:
        beside.unlink(missing_ok=True)
        raise
    return beside


def _is_there(path: Path) -> bool:
    try:
        return os.path.lexists(path)
    except ValueError:
        return False


def _shown(path: Path) -> str:
    """A path as it may be printed: without what would move a terminal's cursor."""
    return "".join(letter if letter.isprintable() else "?" for letter in str(path))


def _why(error: Exception) -> str:
    return getattr(error, "strerror", None) or str(error)
