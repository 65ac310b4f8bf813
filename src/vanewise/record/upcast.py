"""Old entries read as new ones: pure functions that lift the content of an entry by one schema version.

An entry's text never changes once written. When the content of a kind gets a new shape, a function is registered here
that turns version n into version n + 1, and every reader asks for the newest. Saved entries of every version are kept
in ``tests/old_files`` and lifted there.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from vanewise.errors import NoAnswer, Problem

Content = Mapping[str, Any]
Lift = Callable[[Content], dict[str, Any]]


class Upcaster:
    """The lifting functions of every kind of entry, and the newest version of each."""

    def __init__(self) -> None:
        self._lifts: dict[tuple[str, int], Lift] = {}
        self._newest: dict[str, int] = {}

    def register(self, kind: str, from_version: int) -> Callable[[Lift], Lift]:
        """Register a function that lifts ``kind`` from ``from_version`` to the next.

        Raises ValueError when a version is skipped or given twice: a gap would leave old entries unreadable.
        """

        def keep(lift: Lift) -> Lift:
            if from_version != self.newest(kind):
                raise ValueError(f"{kind} is at version {self.newest(kind)}; a lift from {from_version} leaves a gap")
            self._lifts[kind, from_version] = lift
            self._newest[kind] = from_version + 1
            return lift

        return keep

    def newest(self, kind: str) -> int:
        """The version that new entries of ``kind`` are written with."""
        return self._newest.get(kind, 1)

    def lift(self, kind: str, version: int, content: Content) -> dict[str, Any]:
        """The content at the newest version. The content given is not changed.

        Raises :class:`NoAnswer` for an entry written by a newer program than this one.
        """
        newest = self.newest(kind)
        if not 1 <= version <= newest:
            raise NoAnswer(
                Problem(
                    where=f"entry of kind {kind}",
                    expected=f"a schema version from 1 to {newest}",
                    found=f"version {version}",
                    next_step="open this home with the program version that wrote it, or a newer one",
                )
            )
        out = dict(content)
        for step in range(version, newest):
            out = dict(self._lifts[kind, step](out))
        return out


UPCASTER = Upcaster()
"""The lifts of this program. Kinds without one are at version 1."""
