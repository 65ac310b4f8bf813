"""The edge to disk and clock for the command line: reading what is handed in, writing what comes out."""

from __future__ import annotations

import datetime
import os
import tempfile
from collections.abc import Mapping
from pathlib import Path

from vanewise.errors import wrong


def today() -> datetime.date:
    """The date by this machine's clock; the core takes it as an argument."""
    return datetime.date.today()


def default_home() -> Path:
    """Where records are kept when nobody says otherwise."""
    base = os.environ.get("VANEWISE_HOME")
    return Path(base) if base else Path.home() / "vanewise"


def read_text(path: Path) -> str:
    """The text of a file a person handed in. Raises InputError when it is not there or not text."""
    try:
        return path.read_text(encoding="utf-8")
    except FileNotFoundError:
        raise wrong(
            str(path), "a file that exists", "no such file", "check the name, or make one with: vanewise new"
        ) from None
    except IsADirectoryError:
        raise wrong(str(path), "a file", "a folder", "name the file inside it") from None
    except UnicodeDecodeError as error:
        raise wrong(
            str(path), "UTF-8 text", f"a byte that is not, at {error.start}", "save it again as UTF-8"
        ) from None
    except OSError as error:
        raise wrong(str(path), "a readable file", error.strerror or str(error), "check its permissions") from None


def write_whole(path: Path, content: bytes) -> None:
    """Write a file so that it is there whole or not at all: a temporary beside it, flushed, then renamed."""
    path.parent.mkdir(parents=True, exist_ok=True)
    handle, temporary = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(content)
            stream.flush()
            os.fsync(stream.fileno())
        os.replace(temporary, path)
    except BaseException:
        Path(temporary).unlink(missing_ok=True)
        raise


def write_new(path: Path, text: str, *, force: bool) -> None:
    """Write a new text file; an existing one is kept unless ``force``."""
    if path.exists() and not force:
        raise wrong(
            str(path), "a name not taken yet", "a file of that name", "choose another name or add --force"
        ) from None
    _write(path, text.encode())


def write_all(folder: Path, content: Mapping[str, bytes]) -> None:
    """Write every file of an answer into ``folder``."""
    for name, body in content.items():
        _write(folder / name, body)


def _write(path: Path, body: bytes) -> None:
    try:
        write_whole(path, body)
    except OSError as error:
        raise wrong(
            str(path), "a place that can be written", error.strerror or str(error), "choose another folder"
        ) from None
