"""A standby source added to a system that has none: drawn as a mechanic would plumb it, for the what-if of a change."""

from __future__ import annotations

from typing import Final, Literal, get_args

import msgspec

from vanewise.aircraft.checks import refuse_unsound
from vanewise.aircraft.compose import make_line, make_part
from vanewise.aircraft.description import AircraftDescription, Line, Part
from vanewise.aircraft.kinds import Surroundings
from vanewise.errors import wrong

StandbyKind = Literal["standby pump", "intake source"]
STANDBY_KINDS: Final[tuple[StandbyKind, ...]] = get_args(StandbyKind)
_FIVE_EIGHTHS, _HALF = "5/8 in", "1/2 in"


def with_standby(
    description: AircraftDescription, kind: StandbyKind
) -> tuple[AircraftDescription, tuple[str, ...], tuple[str, ...]]:
    """The description with a standby teed in before the pump; what was added, and in words what is cut into.

    A tee between regulator and pump, a check valve to the pump and one to the standby, so that neither sucks on the
    other. Raises InputError for pressure duty, two pumps, and a system that has a standby.
    """
    pump = _refuse(description, kind)
    entering = next((line for line in description.lines if f"{pump.id}.inlet" in (line.start, line.end)), None)
    if entering is None:
        raise wrong("standby", "a line into the pump's inlet to tee into", "none", "draw that line first")
    upstream = entering.end if entering.start == f"{pump.id}.inlet" else entering.start
    names = _free_names(description)
    tee, to_pump, to_standby, standby = (names[name] for name in _PARTS)
    valve = f"{to_pump}.outlet"
    moved = msgspec.structs.replace(
        entering,
        start=valve if entering.start == upstream else entering.start,
        end=valve if entering.end == upstream else entering.end,
    )
    outlet: dict[str, Surroundings] = {"outlet": "engine bay"} if kind == "standby pump" else {}
    parts = (
        make_part(tee, "manifold", "standby tee", ports=("regulator", "pump", "standby")),
        make_part(to_pump, "check valve", "check valve to the pump"),
        make_part(to_standby, "check valve", "check valve to the standby"),
        make_part(standby, kind, kind, outlet),
    )
    lines = (
        make_line(f"{tee}_hose", (upstream, f"{tee}.regulator"), 0.3, _FIVE_EIGHTHS, 1),
        make_line(f"{to_pump}_hose", (f"{tee}.pump", f"{to_pump}.inlet"), 0.2, _FIVE_EIGHTHS, 1),
        make_line(f"{to_standby}_hose", (f"{tee}.standby", f"{to_standby}.inlet"), 0.2, _HALF, 1),
        make_line(f"{standby}_hose", (f"{to_standby}.outlet", f"{standby}.inlet"), 0.9, _HALF, 2, "engine bay"),
    )
    changed = msgspec.structs.replace(
        description,
        layout="",
        parts=(*description.parts, *parts),
        lines=(*(moved if line.id == entering.id else line for line in description.lines), *lines),
        also_fitted=tuple(item for item in description.also_fitted if item != "standby source"),
    )
    owner, _, port = upstream.partition(".")
    at = f"{description.part(owner).label}, {port.replace('_', ' ')}" if port else upstream
    cut = f"{entering.label}: cut or shortened; its end at {at} now sits on the check valve"
    return refuse_unsound(changed), (*(part.id for part in parts), *(line.id for line in lines)), (cut,)


_PARTS: Final = ("standby_tee", "pump_check_valve", "standby_check_valve", "standby")


def _free_names(description: AircraftDescription) -> dict[str, str]:
    """Ids for the new parts that nothing has, the lines made from them included."""
    taken = {owner.id for owner in _owners(description)}

    def free(name: str) -> str:
        return name if not {name, f"{name}_hose"} & taken else free(f"{name}_new")

    return {name: free(name) for name in _PARTS}


def _owners(description: AircraftDescription) -> tuple[Part | Line, ...]:
    return (*description.parts, *description.lines)


def _refuse(description: AircraftDescription, kind: str) -> Part:
    """The one pump of a system that a standby can be added to."""
    if kind not in STANDBY_KINDS:
        raise wrong("standby", " or ".join(STANDBY_KINDS), f'"{kind}"', "choose one of them")
    if description.duty != "suction":
        raise wrong(
            "standby",
            "a system in suction duty",
            "pressure duty",
            "a standby that blows is not modelled; ask whoever holds the approved data for one",
        )
    there = [part.label for part in description.parts if part.kind in STANDBY_KINDS]
    if there:
        raise wrong("standby", "a system without one", there[0], "it is drawn already: look at the system page")
    pumps = description.parts_of("pump")
    if len(pumps) != 1:
        raise wrong("standby", "one engine-driven pump", f"{len(pumps)}", "the other pump is the standby already")
    return pumps[0]
