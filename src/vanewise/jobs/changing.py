"""The job of asking what another layout would do: figures before and after, ports to cap, what hangs on the part.

Another layout is one instrument fewer on the air, or a standby source more.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from vanewise import pipeline
from vanewise.jobs.answers import Answer
from vanewise.jobs.compute import engine, field_altitude, numbers
from vanewise.jobs.words import table, wrapped

if TYPE_CHECKING:
    from collections.abc import Sequence

    from vanewise.aircraft.description import AircraftDescription
    from vanewise.network.changed import AtSpeed, ChangedLayout

RPMS = (700.0, 1000.0, 1500.0, 2000.0, 2400.0)


def _asked(
    text: str, path: str, rpm: str | None, altitude_ft: float | None
) -> tuple[AircraftDescription, Sequence[float], float]:
    """The described aircraft, the engine speeds and the altitude [m] that were asked for."""
    description = pipeline.describe(text, path)
    speeds = RPMS if rpm is None else numbers(rpm, "--rpm")
    return description, speeds, field_altitude(description, altitude_ft)


def without(
    text: str, path: str, instrument: str, *, rpm: str | None = None, altitude_ft: float | None = None
) -> Answer:
    """What the described system would do without one air-driven instrument. Raises InputError for an unknown one."""
    description, speeds, altitude_m = _asked(text, path, rpm, altitude_ft)
    data = instrument_off(description, instrument, speeds, altitude_m)
    return Answer(data=data, words=_words(description.name, data))


def with_standby(
    text: str, path: str, kind: str, *, rpm: str | None = None, altitude_ft: float | None = None
) -> Answer:
    """What the described system would do with a standby source. Raises InputError where none can be added."""
    description, speeds, altitude_m = _asked(text, path, rpm, altitude_ft)
    data = standby_added(description, kind, speeds, altitude_m)
    return Answer(data=data, words=_standby_words(description.name, kind, data))


def standby_added(
    description: AircraftDescription, kind: str, rpms: Sequence[float], altitude_m: float
) -> ChangedLayout:
    """The system with that standby. Raises InputError for another word, and where none can be added."""
    from vanewise.network.changed import added_standby

    return added_standby(description, kind, rpms, altitude_m, engine=engine())  # type: ignore[arg-type]


def instrument_off(
    description: AircraftDescription, gyro: str, rpms: Sequence[float], altitude_m: float
) -> ChangedLayout:
    """The system without that instrument. Raises InputError for an unknown one."""
    from vanewise.network.changed import changed_layout

    return changed_layout(description, gyro, rpms, altitude_m, engine=engine())


NOT_APPROVED = (
    "Computed, not approved. Whether this change may be made is decided by the person who may approve it, from "
    "approved data."
)


def _standby_words(name: str, kind: str, data: ChangedLayout) -> str:
    gyros = list(data.on_standby[0].drops_inhg)
    rows = [
        [f"{at.altitude_ft:,.0f}", _shown(at.gauge_inhg), *(_shown(at.drops_inhg[one]) for one in gyros)]
        for at in data.on_standby
    ]
    blocks = [
        wrapped(f"{name} with a standby: {kind}. New: {', '.join(data.added)}.", ""),
        _figures("As it is", data.before),
        _figures("With it, the engine's pump running, the regulator's spring untouched", data.spring_as_it_is),
        _figures("With it, the regulator set again", data.spring_set_again),
        _springs(data),
        "The pump stopped and the standby on, by feet of altitude:\n"
        + table(["feet", "gauge inHg", *(f"{one} inHg" for one in gyros)], rows),
        _list("Cut into", data.hangs_on_it),
        _list("For the person who approves it", data.to_approve),
        wrapped(NOT_APPROVED, ""),
    ]
    return "\n\n".join(block for block in blocks if block)


def _springs(data: ChangedLayout) -> str:
    return "\n".join(wrapped(words) for words in spring_words(data))


def spring_words(data: ChangedLayout) -> list[str]:
    """How far each regulator's spring has to move."""
    return [
        f"{part}: spring {abs(move):.2f} inHg {'tighter' if move >= 0.0 else 'slacker'}, proved by the gauge."
        for part, move in data.spring_change_inhg.items()
    ]


def _words(name: str, data: ChangedLayout) -> str:
    blocks = [
        wrapped(f"{name} without {data.removed[0].replace('_', ' ')}. Off with it: {', '.join(data.removed[1:])}.", ""),
        _figures("As it is", data.before),
        _figures("Without it, the regulator's spring untouched", data.spring_as_it_is),
        _figures("Without it, the regulator set again", data.spring_set_again),
        _springs(data),
        _list("To cap", data.to_cap),
        _list("Hangs on it", data.hangs_on_it),
        _list("For the person who approves it", data.to_approve),
        wrapped(NOT_APPROVED, ""),
    ]
    return "\n\n".join(block for block in blocks if block)


def _figures(title: str, points: tuple[AtSpeed, ...]) -> str:
    gyros, pumps = list(points[0].drops_inhg), list(points[0].pump_load_inhg)
    head = ["rpm", "gauge inHg", *(f"{one} inHg" for one in gyros), *(f"{one} load inHg" for one in pumps), "air cfm"]
    rows = [
        [
            f"{point.rpm:.0f}",
            _shown(point.gauge_inhg),
            *(_shown(point.drops_inhg[one]) for one in gyros),
            *(_shown(point.pump_load_inhg[one]) for one in pumps),
            _shown(point.demand_cfm),
        ]
        for point in points
    ]
    return f"{title}:\n{table(head, rows)}"


def _shown(number: float | None) -> str:
    return "not solved" if number is None else f"{round(number, 2) + 0.0:.2f}"


def _list(title: str, items: tuple[str, ...]) -> str:
    return "\n".join([f"{title}:", *(wrapped(f"- {item}") for item in items)]) if items else ""
