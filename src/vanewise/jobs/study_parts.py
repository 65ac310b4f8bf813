"""What is kept of a study while it runs: one file for each chunk that is done, so that an interrupted one goes on.

A part is written beside its place and renamed, so there is never half of one. ``of.json`` says which study they belong
to, and what they were worked out with: parts of another are never taken.
"""

from __future__ import annotations

import hashlib
import io
import zipfile
from collections.abc import Iterator, Mapping
from functools import cache
from importlib import metadata
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import msgspec
import numpy as np
from numpy.typing import NDArray

from vanewise.errors import NoAnswer, Problem, wrong
from vanewise.jobs.files import read_text, write_all

if TYPE_CHECKING:
    from vanewise.network.types import Engine
    from vanewise.study import Part, Prepared

OF: Final = "of.json"
_ROW: Final = "row|"
_STAMP: Final = (1980, 1, 1, 0, 0, 0)
"""Date of every entry of an archive: the same study gives the same bytes on any day."""


@cache
def program_mark(engine: Engine) -> str:
    """Digest of what the numbers come from: this program's core, numpy, and numba where it takes part."""
    import vanewise

    package = Path(vanewise.__file__).parent
    digest = hashlib.sha256(f"{engine} {np.__version__}".encode())
    if engine == "kernel" and find_spec("numba") is not None:
        digest.update(f"{metadata.version('numba')} {metadata.version('llvmlite')}".encode())
    for folder in ("aircraft", "network", "study", "values"):
        for source in sorted((package / folder).glob("*.py")):
            digest.update(source.name.encode() + source.read_bytes())
    return digest.hexdigest()


class Parts:
    """The folder of a study's parts."""

    def __init__(self, folder: Path, ready: Prepared, engine: Engine):
        from vanewise.study.types import digest

        self.folder, self._ready = folder, ready
        self._mark = {"study": digest(ready.study), "program": program_mark(engine)}

    def open(self, *, fresh: bool) -> int:
        """Make the folder ready; the number of parts in it. Raises InputError where they are of something else."""
        there = self.folder / OF
        if fresh:
            self.clear()
        if there.exists():
            self._refuse_others(there)
        else:
            write_all(self.folder, {OF: msgspec.json.encode(self._mark)})
        return sum(1 for _ in self.folder.glob("[0-9]*.npz"))

    def _refuse_others(self, there: Path) -> None:
        try:
            found = msgspec.json.decode(read_text(there))
        except msgspec.DecodeError:
            found = {}
        if found == self._mark:
            return
        same = isinstance(found, dict) and found.get("study") == self._mark["study"]
        raise wrong(
            str(self.folder),
            "parts of this study, worked out with this version of the program",
            "parts of the same study from another version or engine" if same else "parts of another study",
            "choose another folder with --out, or begin anew with --fresh",
        )

    def clear(self) -> None:
        """Take away what this class wrote, and nothing else."""
        for path in (*self.folder.glob("[0-9]*.npz"), self.folder / OF):
            path.unlink(missing_ok=True)
        if self.folder.is_dir() and not any(self.folder.iterdir()):
            self.folder.rmdir()

    def _place(self, number: int) -> Path:
        return self.folder / f"{number:07d}.npz"

    def has(self, number: int) -> bool:
        return self._place(number).exists()

    def keep(self, part: Part) -> None:
        """Write a part. Raises InputError when the disk does not take it; the parts before stay."""
        from vanewise.study.tally import arrays

        named = dict(arrays(part.tally))
        named |= {f"{_ROW}{name}": column for name, column in (part.rows or {}).items()}
        body = io.BytesIO()
        np.savez(body, **named)  # type: ignore[arg-type]
        write_all(self.folder, {self._place(part.number).name: body.getvalue()})

    def read(self, number: int) -> Part:
        """A part as it was kept. Raises NoAnswer when its file has gone or is no part."""
        from vanewise.study import Part
        from vanewise.study.tally import from_arrays

        outcomes = tuple(spec.name for spec in self._ready.outcomes)
        try:
            with np.load(self._place(number), allow_pickle=False) as named:
                rows = {name.removeprefix(_ROW): named[name] for name in named.files if name.startswith(_ROW)}
                return Part(number=number, tally=from_arrays(named, outcomes), rows=rows or None)
        except (OSError, ValueError, KeyError, zipfile.BadZipFile) as error:
            raise NoAnswer(
                Problem(
                    where=str(self._place(number)),
                    expected="a part of this study",
                    found=str(error) or type(error).__name__,
                    next_step="take that file away and run the same command again: only it is worked out anew",
                )
            ) from None

    def columns(self) -> Mapping[str, np.dtype[Any]]:
        """Name and type of every column of the rows."""
        return {name: column.dtype for name, column in (self.read(0).rows or {}).items()}

    def column(self, name: str) -> Iterator[NDArray[Any]]:
        """One column, chunk by chunk, in order; nothing else of the parts is read."""
        for number in range(self._ready.study.chunks):
            with np.load(self._place(number), allow_pickle=False) as named:
                yield named[f"{_ROW}{name}"]


def write_archive(path: Path, parts: Parts, count: int) -> None:
    """All rows as one ``.npz``, an array of ``count`` numbers for each column, streamed column by column.

    It is written beside its place and renamed when whole.
    """
    beside = path.with_name(f".{path.name}")
    try:
        with zipfile.ZipFile(beside, "w", zipfile.ZIP_STORED, allowZip64=True) as archive:
            for name, kind in parts.columns().items():
                entry = zipfile.ZipInfo(f"{name}.npy", _STAMP)
                with archive.open(entry, "w", force_zip64=True) as stream:
                    head = {"descr": np.lib.format.dtype_to_descr(kind), "fortran_order": False}
                    np.lib.format.write_array_header_1_0(stream, {**head, "shape": (count,)})
                    for column in parts.column(name):
                        stream.write(column.tobytes())
        beside.replace(path)
    except OSError as error:
        found, next_step = str(error.strerror or error), "make room and run the same command again; the parts are kept"
        raise wrong(str(path), "a place that can be written", found, next_step) from None
    finally:
        beside.unlink(missing_ok=True)
