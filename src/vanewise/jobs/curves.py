"""Curves people use: margin map, pump load, where the air goes. From a description to figures and to words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Final

import msgspec

from vanewise import pipeline
from vanewise.aircraft.names import nearest
from vanewise.errors import wrong
from vanewise.jobs import words
from vanewise.jobs.answers import Answer
from vanewise.jobs.compute import engine, field_altitude, state_values
from vanewise.quantities import M_PER_FT, to_si

if TYPE_CHECKING:
    from vanewise.aircraft.description import AircraftDescription
    from vanewise.network.load import FlowBudget, PumpLoad, Share
    from vanewise.network.margin import GyroMargin, MarginMap

MOST_WEAR: Final = 16.0
MOST_LOADING: Final = 60.0
LOAD_FEET: Final = (6000.0, 12000.0, 18000.0)
_TOP_FT: Final = 20_000.0
_STEP_FT: Final = 2000.0
_STEP_RPM: Final = 100.0
NOT_SHOWN: Final = "what an instrument of another make needs, and what the air's moisture or ice does"


class Now(msgspec.Struct, frozen=True):
    """How the system is now, in the two numbers that move most with the hours; 1 is sound."""

    wear: float = 1.0
    """Leakage inside the pump, in times of a sound one."""
    loading: float = 1.0
    """Resistance of the filter the gyros breathe through, in times of a new one."""

    def states(self, description: AircraftDescription) -> dict[str, float]:
        found: dict[str, float] = {}
        if self.wear != 1.0:
            found |= {f"{part.id}.slip": self.wear for part in description.parts_of("pump")}
        if self.loading != 1.0:
            kind = "intake filter" if description.duty == "suction" else "inline filter"
            found |= {f"{part.id}.loading": self.loading for part in description.parts_of(kind)}
        return found


def now_of(wear: str, loading: str) -> Now:
    """Wear and loading as a person chose them; 1 where they did not say. Raises InputError outside what is believed."""
    return Now(_times("pump wear", wear, MOST_WEAR), _times("filter loading", loading, MOST_LOADING))


def _times(where: str, text: str, most: float) -> float:
    if not text.strip():
        return 1.0
    number = to_si(text.strip(), "ratio", where)
    if not 1.0 <= number <= most:
        raise wrong(where, f"1 (sound) to {most:g} times", text, "give a number within")
    return number


def needs_given(description: AircraftDescription, given: Mapping[str, str]) -> tuple[tuple[str, float], ...]:
    """What people gave as an instrument's need, in inHg. Raises InputError for an unknown one and for no pressure."""
    from vanewise.network.observe import gyros
    from vanewise.quantities import PA_PER_INHG

    known = gyros(description)
    found = []
    for gyro, text in given.items():
        if gyro not in known:
            raise wrong("need", f"one of {', '.join(known)}", f'"{gyro}"', nearest(gyro, known))
        if text.strip():
            need = to_si(text.strip(), "pressure", f"need of {gyro}", "inHg") / PA_PER_INHG
            if not 0.5 <= need <= 15.0:
                raise wrong(f"need of {gyro}", "0.5 to 15 inHg", text, "take it from the instrument's own manual")
            found.append((gyro, need))
    return tuple(found)


def grid(description: AircraftDescription) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Engine speeds [rpm], idle to highest, and pressure altitudes [ft] of a map."""
    low, high = description.engine.idle_rpm.number, description.engine.max_rpm.number
    steps = max(4, round((high - low) / _STEP_RPM))
    rpms = tuple(low + (high - low) * number / steps for number in range(steps + 1))
    return rpms, tuple(_STEP_FT * number for number in range(int(_TOP_FT / _STEP_FT) + 1))


def margin_of(
    description: AircraftDescription,
    states: tuple[tuple[str, float], ...],
    needed: tuple[tuple[str, float], ...] = (),
    warmer_k: float = 0.0,
    seed: int = 0,
) -> MarginMap:
    """The map of every instrument on the usual grid."""
    from vanewise.network.margin import margin_map, needs

    rpms, feet = grid(description)
    return margin_map(
        description,
        rpms,
        [height * M_PER_FT for height in feet],
        needs(description, dict(needed)),
        dict(states),
        seed=seed,
        warmer_k=warmer_k,
        engine=engine(),
    )


def load_of(
    description: AircraftDescription,
    states: tuple[tuple[str, float], ...],
    pump: str = "",
    rpm: float | None = None,
    altitude_ft: float | None = None,
) -> PumpLoad:
    """The load over speed at the home field and three altitudes; what raises it, in cruise at the field by default."""
    from vanewise.network.load import pump_load

    known = [part.id for part in description.parts_of("pump")]
    if pump and pump not in known:
        raise wrong("pump", f"one of {', '.join(known)}", f'"{pump}"', nearest(pump, known))
    rpms = grid(description)[0]
    field = description.field.elevation.number
    above = [height * M_PER_FT for height in LOAD_FEET if height * M_PER_FT > field + 300.0]
    return pump_load(
        description,
        rpms,
        [field, *above],
        dict(states),
        pump=pump,
        at_rpm=description.engine.cruise_rpm.number if rpm is None else rpm,
        at_altitude_m=field if altitude_ft is None else altitude_ft * M_PER_FT,
        engine=engine(),
    )


def budget_of(
    description: AircraftDescription,
    states: tuple[tuple[str, float], ...],
    rpm: float,
    altitude_ft: float,
) -> FlowBudget:
    """Where the air goes at one operating point. Raises NoAnswer where it was not solved."""
    from vanewise.network import OperatingPoint
    from vanewise.network.load import flow_budget

    point = OperatingPoint(engine_rpm=rpm, altitude_m=altitude_ft * M_PER_FT)
    return flow_budget(description, point, dict(states), engine=engine())


def sorted_states(states: Mapping[str, float]) -> tuple[tuple[str, float], ...]:
    return tuple(sorted(states.items()))


def margin(
    text: str,
    path: str,
    *,
    wear: float = 1.0,
    loading: float = 1.0,
    needed: Sequence[str] = (),
    states: Sequence[str] = (),
    warmer_c: float = 0.0,
    seed: int = 0,
) -> Answer:
    """The margin map of a described aircraft. Raises InputError for what it cannot read."""
    from vanewise.jobs.compute import split_answers

    description = pipeline.describe(text, path)
    now = now_of(f"{wear}", f"{loading}").states(description) | dict(state_values(states, description))
    given = needs_given(description, {gyro: str(value) for gyro, value in split_answers(needed).items()})
    data = margin_of(description, sorted_states(now), given, warmer_c, seed)
    return Answer(data=data, words=_margin_words(description, data))


def load(
    text: str, path: str, *, pump: str = "", states: Sequence[str] = (), altitude_ft: float | None = None
) -> Answer:
    """What the pump works against, and what raises it."""
    description = pipeline.describe(text, path)
    now = sorted_states(state_values(states, description))
    data = load_of(description, now, pump, None, field_altitude(description, altitude_ft) / M_PER_FT)
    return Answer(data=data, words=_load_words(description, data))


def budget(
    text: str, path: str, *, rpm: float | None = None, altitude_ft: float | None = None, states: Sequence[str] = ()
) -> Answer:
    """Where the pump's air goes; in cruise at the home field where nothing else is said."""
    description = pipeline.describe(text, path)
    now = sorted_states(state_values(states, description))
    speed = description.engine.cruise_rpm.number if rpm is None else rpm
    data = budget_of(description, now, speed, field_altitude(description, altitude_ft) / M_PER_FT)
    return Answer(data=data, words=_budget_words(description, data))


def share_words(names: Mapping[str, str], share: Share) -> str:
    """A user of air in words."""
    name = names[share.part]
    return {
        "leak": f"leak at {name}",
        "slip": f"slips back inside {name}",
        "regulator": f"{name}",
        "standby": f"{name}",
    }.get(share.use, name)


def ceiling_words(margin: GyroMargin, column: int, feet: Sequence[float]) -> str:
    """Up to which altitude an instrument gets enough at one speed: sure to likely."""
    middle = _feet(margin.ceiling_ft[column], feet)
    if not margin.ceiling_low_ft:
        return middle
    low, high = _feet(margin.ceiling_low_ft[column], feet), _feet(margin.ceiling_high_ft[column], feet)
    return middle if low == middle == high else f"{middle} (band {low} to {high})"


def shown_speeds(data: MarginMap) -> list[tuple[int, float]]:
    """Every second engine speed with its place: as many as a table can show."""
    return list(enumerate(data.rpms))[::2]


def _feet(ceiling: float | None, feet: Sequence[float]) -> str:
    if ceiling is None:
        return "nowhere"
    return f"over {feet[-1]:,.0f} ft" if ceiling >= feet[-1] else f"{round(ceiling, -2):,.0f} ft"


def _margin_words(description: AircraftDescription, data: MarginMap) -> str:
    names = description.labels()
    blocks = [words.wrapped(f"{description.name}: up to which altitude each instrument still gets what it needs.", "")]
    for one in data.gyros:
        assumed = ", an example: overwrite it from its own manual" if one.needed_assumed else ""
        rows = [[f"{rpm:.0f}", ceiling_words(one, i, data.altitudes_ft)] for i, rpm in shown_speeds(data)]
        blocks.append(
            words.wrapped(f"{names[one.gyro]}: needs {one.needed_inhg:.1f} inHg, {one.needed_from}{assumed}.", "")
            + "\n"
            + words.table(["rpm", "enough up to"], rows)
        )
    now = ", ".join(f"{key} {value:g}" for key, value in data.states.items()) or "all parts sound"
    blocks.append(
        words.wrapped(
            f"Taken as: {now}; a day {data.warmer_k:g} C above standard. Band: 4 of 5 aircraft known as well as this "
            f"one, {data.assumed} of its numbers being examples. Not in it: {NOT_SHOWN}.",
            "",
        )
    )
    return "\n\n".join(blocks)


def _load_words(description: AircraftDescription, data: PumpLoad) -> str:
    names = description.labels()
    rows = [
        [
            f"{point.altitude_ft:,.0f}",
            f"{point.rpm:.0f}",
            _shown(point.gauge_inhg),
            _shown(point.load_inhg[data.pump]),
            _shown(point.pressure_ratio[data.pump]),
        ]
        for point in data.points
    ]
    raised = [
        [
            f"{names[one.part]}: {one.words}",
            _shown(one.load_inhg[1]),
            _shown(one.gauge_inhg[1]),
            _shown(one.least_drop_inhg[1]),
        ]
        for one in data.raisers
    ]
    before = data.raisers[0]
    at = f"{data.at_rpm:,.0f} rpm, {data.at_altitude_ft:,.0f} ft"
    return "\n\n".join(
        [
            f"{description.name}: what {names[data.pump]} works against. The panel gauge does not show it.",
            words.table(["feet", "rpm", "gauge inHg", "load inHg", "outlet/inlet"], rows),
            f"What raises it, at {at} (now: load {_shown(before.load_inhg[0])}, gauge {_shown(before.gauge_inhg[0])}, "
            f"least drop {_shown(before.least_drop_inhg[0])} inHg):\n"
            + words.table(["", "load inHg", "gauge inHg", "least drop inHg"], raised),
            words.wrapped("No limit is given: the pump maker's own sheet has it, where there is one.", ""),
        ]
    )


def _budget_words(description: AircraftDescription, data: FlowBudget) -> str:
    names = description.labels()
    rows = [
        [share_words(names, share), _shown(share.cfm), f"{100.0 * share.cfm / data.intake_cfm:.0f} %"]
        for share in data.shares
    ]
    rows.append(
        [
            "taken in by the pumps" if len(description.parts_of("pump")) > 1 else "taken in by the pump",
            _shown(data.intake_cfm),
            "100 %",
        ]
    )
    return "\n".join(
        [
            f"{description.name} at {data.rpm:,.0f} rpm, {data.altitude_ft:,.0f} ft: where its air goes, in free air.",
            words.table(["", "cfm", "share"], rows),
            *(
                []
                if not description.parts_of("autopilot")
                else [words.wrapped("The autopilot takes its signal by wire: no air.", "")]
            ),
        ]
    )


def _shown(number: float | None) -> str:
    return "not solved" if number is None else f"{round(number, 2) + 0.0:.2f}"
