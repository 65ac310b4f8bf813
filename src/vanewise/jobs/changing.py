"""The job of asking what another layout would do: figures before and after, ports to cap, what hangs on the part."""

from __future__ import annotations

from typing import TYPE_CHECKING

from vanewise import pipeline
from vanewise.jobs.answers import Answer
from vanewise.jobs.compute import engine, field_altitude, numbers
from vanewise.jobs.words import table, wrapped

if TYPE_CHECKING:
    from vanewise.network.changed import AtSpeed, ChangedLayout

RPMS = (700.0, 1000.0, 1500.0, 2000.0, 2400.0)


def without(
    text: str, path: str, instrument: str, *, rpm: str | None = None, altitude_ft: float | None = None
) -> Answer:
    """What the described system would do without one air-driven instrument. Raises InputError for an unknown one."""
    from vanewise.network.changed import changed_layout

    description = pipeline.describe(text, path)
    speeds = RPMS if rpm is None else numbers(rpm, "--rpm")
    data = changed_layout(description, instrument, speeds, field_altitude(description, altitude_ft), engine=engine())
    return Answer(data=data, words=_words(description.name, data))


def _words(name: str, data: ChangedLayout) -> str:
    blocks = [
        wrapped(f"{name} without {data.removed[0].replace('_', ' ')}. Off with it: {', '.join(data.removed[1:])}.", ""),
        _figures("As it is", data.before),
        _figures("Without it, the regulator's spring untouched", data.spring_as_it_is),
        _figures("Without it, the regulator set again", data.spring_set_again),
        "\n".join(
            wrapped(
                f"{part}: spring {abs(move):.2f} inHg {'tighter' if move >= 0.0 else 'slacker'}, proved by the gauge."
            )
            for part, move in data.spring_change_inhg.items()
        ),
        _list("To cap", data.to_cap),
        _list("Hangs on it", data.hangs_on_it),
        _list("For the person who approves it", data.to_approve),
        wrapped(
            "Computed, not approved. Whether this change may be made is decided by the person who may approve it, from "
            "approved data.",
            "",
        ),
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
