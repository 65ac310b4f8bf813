"""Another source of air while one stands still: which sources there are, and which way the air then moves."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from vanewise.aircraft.description import AircraftDescription
from vanewise.contamination import directions
from vanewise.contamination.directions import Way, Ways
from vanewise.contamination.plumbing import Plumbing

DRY_PUMPS: Final = ("pump", "standby pump")
"""Kinds that turn, can break, and are then a hole in the system."""
SOURCE_KINDS: Final = (*DRY_PUMPS, "intake source")


def sources(description: AircraftDescription, kinds: tuple[str, ...] = SOURCE_KINDS) -> tuple[str, ...]:
    """Ids of the sources of air of these kinds, the engine-driven pumps first."""
    return tuple(part.id for kind in kinds for part in description.parts_of(kind))


def ways_of_others(description: AircraftDescription, plumbing: Plumbing) -> Mapping[str, tuple[Ways, ...]]:
    """For every dry pump: the ways of all lines while it stands still and another source draws.

    One set for each other source alone and, where there are several, one for all together: nobody says which of them
    ran, so that each may have. Empty for a pump that has no other source beside it.
    """
    return {dead: _ways_beside(description, plumbing, dead) for dead in sources(description, DRY_PUMPS)}


def _ways_beside(description: AircraftDescription, plumbing: Plumbing, dead: str) -> tuple[Ways, ...]:
    others = [source for source in sources(description) if source != dead]
    drawing = [frozenset({source}) for source in others]
    if len(others) > 1:
        drawing.append(frozenset(others))
    pumps = frozenset(sources(description, ("pump",)))
    # The dead pump's own lines are two-way: whether its check valve leaks decides which, and only a look can say.
    own: dict[str, Way] = {
        line: 0 for port in plumbing.elements[dead].ports for line in plumbing.lines_at.get(port, ())
    }
    return tuple(
        {**directions.from_description(description, plumbing, stopped=pumps - used, used=used), **own}
        for used in drawing
    )
