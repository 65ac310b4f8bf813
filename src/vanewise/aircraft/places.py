"""Where something stands in a description, as a message names it: the path in a file, then what people call it."""

from __future__ import annotations

from vanewise.aircraft.description import AircraftDescription


def place(group: str, index: int, key: str = "", called: str = "") -> str:
    """``lines[6].bore (firewall_hose)``. ``group`` is ``parts`` or ``lines``; the first of a group is [0]."""
    path = f"{group}[{index}]{'.' if key else ''}{key}"
    return f"{path} ({called})" if called else path


class Places:
    """Places of the parts and lines of one description, by id. Of two with the same id, the first."""

    def __init__(self, description: AircraftDescription):
        self._found: dict[str, tuple[str, int]] = {}
        parts, lines = [part.id for part in description.parts], [line.id for line in description.lines]
        for group, ids in (("parts", parts), ("lines", lines)):
            for index, owner_id in enumerate(ids):
                self._found.setdefault(owner_id, (group, index))

    def of(self, owner_id: str, key: str = "") -> str:
        """The place of a key of that part or line. Raises KeyError when there is none of that id."""
        group, index = self._found[owner_id]
        return place(group, index, key, owner_id)
