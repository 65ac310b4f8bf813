"""The figures that are followed over time, each brought to one measure, and what is taken as their usual scatter.

From dated readings of the gauge and the lamp, and from figures timed or seen, this makes one series for each figure.
What makes readings differ without anything being wrong is taken out first: altitude and temperature below the knee, the
gauge's own comparison card, the earth's turning in a heading drift. What is left is compared by
:func:`vanewise.watch.trend.follow`.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable, Mapping, Sequence
from types import MappingProxyType
from typing import Final, Literal

import msgspec

from vanewise.errors import InputError
from vanewise.provenance import JUDGEMENT, Value
from vanewise.quantities import M_PER_FT, PA_PER_INHG
from vanewise.watch.trend import Series, TrendReading
from vanewise.watch.trend_signals import (
    FOLLOWED_RPM,
    RunConditions,
    SweepReading,
    altitude_sag,
    drift_rest,
    gauge_corrected,
    on_reference_day,
    sweep_figures,
)

SAME_RPM: Final = 60.0
"""Readings this near to a speed count as taken at it."""
Key = Literal["gauge_1000", "lamp_out", "knee", "plateau", "run_up", "erection", "drift", "wander", "sag"]
Timed = Literal["erection", "drift", "wander"]
"""The figures that a person times or sees, and that no gauge reading gives."""


class Followed(msgspec.Struct, frozen=True, kw_only=True):
    """One figure: its name and unit, which way is bad, its usual scatter in that unit, and what a change speaks of."""

    name: str
    unit: str
    worse: Literal["rising", "falling", "either"]
    scatter: Value
    speaks_of: str
    digits: int = 1


def _scatter(number: float, note: str) -> Value:
    return Value(number=number, dimension="ratio", standing="judgement", source=JUDGEMENT, note=note)


_OWN: Final = "usual scatter of one reading on a sound aircraft; its own readings take over from it"
FOLLOWED: Final[Mapping[Key, Followed]] = MappingProxyType(
    {
        "lamp_out": Followed(
            name="engine speed at lamp out",
            unit="rpm",
            worse="rising",
            scatter=_scatter(40.0, _OWN),
            speaks_of="supply at low engine speed: pump, leaks, filter; it shows before the gauge at run-up does",
            digits=0,
        ),
        "gauge_1000": Followed(
            name="gauge at 1,000 rpm",
            unit="inHg",
            worse="falling",
            scatter=_scatter(0.12, _OWN),
            speaks_of="what the pump gives below the knee, where the regulator is shut",
        ),
        "knee": Followed(
            name="engine speed at the knee",
            unit="rpm",
            worse="rising",
            scatter=_scatter(60.0, _OWN),
            speaks_of="pump and leaks together: the speed at which the regulator begins to hold",
            digits=0,
        ),
        "plateau": Followed(
            name="gauge above the knee",
            unit="inHg",
            worse="either",
            scatter=_scatter(0.10, _OWN),
            speaks_of="the regulator, its filter, and the gauge itself",
        ),
        "run_up": Followed(
            name="gauge at run-up",
            unit="inHg",
            worse="either",
            scatter=_scatter(0.10, _OWN),
            speaks_of="the regulator above the knee, the pump below it",
        ),
        "erection": Followed(
            name="time to erect",
            unit="min",
            worse="rising",
            scatter=_scatter(0.5, _OWN),
            speaks_of="the attitude indicator and what feeds it",
        ),
        "drift": Followed(
            name="heading drift in 15 minutes",
            unit="deg",
            worse="either",
            scatter=_scatter(2.0, _OWN),
            speaks_of="the heading indicator's own bearings and balance; the earth's turning is taken out",
        ),
        "wander": Followed(
            name="needle wander at one speed",
            unit="inHg",
            worse="rising",
            scatter=_scatter(0.08, _OWN),
            speaks_of="a valve that hunts or dirt that moves on its seat, while each single reading looks good",
        ),
        "sag": Followed(
            name="loss of suction for each 1,000 ft climbed",
            unit="inHg",
            worse="rising",
            scatter=_scatter(0.05, _OWN),
            speaks_of="a worn pump: it keeps the band low down and runs out of capacity with height",
            digits=2,
        ),
    }
)


class Taken(msgspec.Struct, frozen=True, kw_only=True):
    """One reading of the panel gauge, or of the lamp where ``gauge_pa`` is None, at hours of the aircraft."""

    date: datetime.date
    hours: float
    engine_rpm: float
    gauge_pa: float | None = None
    altitude_m: float | None = None
    temperature_k: float | None = None


class TimedFigure(msgspec.Struct, frozen=True, kw_only=True):
    """A figure that was timed or seen: minutes, degrees over ``minutes``, or Pa between the needle's ends."""

    what: Timed
    date: datetime.date
    hours: float
    value: float
    minutes: float = 15.0


class Airframe(msgspec.Struct, frozen=True, kw_only=True):
    """What of the aircraft bears on how its readings compare: home field, speeds, duty, gauge card."""

    field_m: float
    run_up_rpm: float
    cruise_rpm: float
    latitude_deg: float | None = None
    in_pressure: bool = False
    gauge_card: tuple[tuple[float, float], ...] = ()
    """Pairs of shown and true [Pa]."""


class Followable(msgspec.Struct, frozen=True, kw_only=True):
    """A series with the day of each of its readings, and what was not known about them."""

    key: Key
    series: Series
    remarks: tuple[str, ...] = ()


def followable(
    taken: Sequence[Taken],
    timed: Sequence[TimedFigure],
    airframe: Airframe,
    pressure_at: Callable[[float], float],
    new_baselines: Sequence[float] = (),
) -> tuple[Followable, ...]:
    """Every figure that these readings give, in the order of :data:`FOLLOWED`; those without a reading are left out.

    ``pressure_at``: standard pressure [Pa] at an altitude [m]. ``new_baselines``: hours of work after which earlier
    readings are no measure.
    """
    found: dict[Key, list[TrendReading]] = {key: [] for key in FOLLOWED}
    remarks: dict[Key, set[str]] = {key: set() for key in FOLLOWED}
    for when in sorted({(item.date, item.hours) for item in taken}):
        day = [item for item in taken if (item.date, item.hours) == when]
        for key, value, said in _of_a_day(day, airframe, pressure_at):
            found[key].append(TrendReading(hours=when[1], value=value, date=when[0]))
            remarks[key].update(said)
    for figure in timed:
        value = figure.value
        if figure.what == "wander":
            value = value / PA_PER_INHG
        elif figure.what == "drift":
            value = _own_drift(figure, airframe.latitude_deg, remarks["drift"])
        found[figure.what].append(TrendReading(hours=figure.hours, value=value, date=figure.date))
    return tuple(
        Followable(
            key=key,
            series=Series(
                name=what.name,
                unit=what.unit,
                worse=what.worse,
                scatter=what.scatter.number,
                readings=tuple(found[key]),
                new_baselines=tuple(new_baselines),
            ),
            remarks=tuple(sorted(remarks[key])),
        )
        for key, what in FOLLOWED.items()
        if found[key]
    )


def _own_drift(figure: TimedFigure, latitude_deg: float | None, remarks: set[str]) -> float:
    if latitude_deg is None:
        remarks.add("The home field's latitude is not known, so the earth's turning is still in the drift.")
        return figure.value * 15.0 / figure.minutes
    return drift_rest(figure.value, figure.minutes, latitude_deg)


def _of_a_day(
    day: Sequence[Taken], airframe: Airframe, pressure_at: Callable[[float], float]
) -> list[tuple[Key, float, tuple[str, ...]]]:
    """What the readings of one run give."""
    out: list[tuple[Key, float, tuple[str, ...]]] = []
    lamps = [item.engine_rpm for item in day if item.gauge_pa is None]
    if lamps:
        out.append(("lamp_out", sum(lamps) / len(lamps), ()))
    low = [item for item in day if item.gauge_pa is not None and _near_field(item, airframe)]
    conditions, unsaid = _conditions(low, airframe, pressure_at)
    points = [SweepReading(engine_rpm=item.engine_rpm, suction_pa=_true(item, airframe)) for item in low]
    near = [point for point in points if abs(point.engine_rpm - FOLLOWED_RPM) < SAME_RPM]
    if len({point.engine_rpm for point in points}) >= 3:
        figures = sweep_figures(_one_each(points), conditions)
        # The remark on temperature is made once below, for whatever needs it.
        for key, value in (("knee", figures.knee_rpm), ("plateau", figures.plateau_pa)):
            if value is not None:
                out.append((key, value if key == "knee" else value / PA_PER_INHG, unsaid if key == "knee" else ()))  # type: ignore[arg-type]
    if near:
        brought = [on_reference_day(point, conditions).suction_pa for point in near]
        out.append(("gauge_1000", sum(brought) / len(brought) / PA_PER_INHG, unsaid))
    up = [p.suction_pa for p in points if abs(p.engine_rpm - airframe.run_up_rpm) < SAME_RPM]
    if up:
        out.append(("run_up", sum(up) / len(up) / PA_PER_INHG, ()))
    sag = _sag(day, airframe)
    if sag is not None:
        out.append(("sag", sag, ()))
    return out


def _near_field(item: Taken, airframe: Airframe) -> bool:
    """Taken on the ground or not far above it; what was read in the climb is compared by its own signal."""
    return item.altitude_m is None or abs(item.altitude_m - airframe.field_m) < 300.0


def _true(item: Taken, airframe: Airframe) -> float:
    assert item.gauge_pa is not None
    return gauge_corrected(item.gauge_pa, airframe.gauge_card)


def _conditions(
    day: Sequence[Taken], airframe: Airframe, pressure_at: Callable[[float], float]
) -> tuple[RunConditions, tuple[str, ...]]:
    altitude = next((item.altitude_m for item in day if item.altitude_m is not None), airframe.field_m)
    kelvin = next((item.temperature_k for item in day if item.temperature_k is not None), None)
    unsaid = () if kelvin is not None else ("Where no temperature was written it is taken as 15 C.",)
    taken_in = kelvin if airframe.in_pressure else None
    return RunConditions(ambient_pa=pressure_at(altitude), cabin_k=kelvin, pump_air_k=taken_in), unsaid


def _one_each(points: Sequence[SweepReading]) -> list[SweepReading]:
    """One point for each speed: what was read rising and falling is averaged."""
    by_speed: dict[float, list[float]] = {}
    for point in points:
        by_speed.setdefault(point.engine_rpm, []).append(point.suction_pa)
    return [SweepReading(engine_rpm=rpm, suction_pa=sum(v) / len(v)) for rpm, v in sorted(by_speed.items())]


def _sag(day: Sequence[Taken], airframe: Airframe) -> float | None:
    """Loss of suction for each 1,000 ft between the lowest and the highest cruise reading of a day."""
    cruise = [
        item
        for item in day
        if item.gauge_pa is not None
        and item.altitude_m is not None
        and abs(item.engine_rpm - airframe.cruise_rpm) < 2.5 * SAME_RPM
    ]
    if len(cruise) < 2:
        return None
    low, high = (pick(cruise, key=lambda item: item.altitude_m or 0.0) for pick in (min, max))
    assert low.altitude_m is not None and high.altitude_m is not None
    try:
        loss = altitude_sag(low.altitude_m, _true(low, airframe), high.altitude_m, _true(high, airframe))
    except InputError:
        return None
    return loss / 1000.0 * 1000.0 * M_PER_FT / PA_PER_INHG
