"""Reference of the work: cautions, what each failure mode's plan is made of, gates, torque table, ground-run limits."""

from __future__ import annotations

import datetime

from tools.reference._tables import code, table
from vanewise.aircraft.layouts import layouts, make
from vanewise.diagnosis.modes import MODES, applicable
from vanewise.prints.tags import SHEETS
from vanewise.provenance import Value
from vanewise.quantities import inhg
from vanewise.values import ground_run_limits
from vanewise.values.ac_43_13_1b import ROWS, TABLE_7_1
from vanewise.work.cautions import CAUTIONS, DEFERENCE
from vanewise.work.plan import plan

_DAY = datetime.date(2025, 1, 1)


def pages() -> dict[str, str]:
    return {"cautions.md": _cautions(), "plans.md": _plans(), "job-sheets.md": _sheets()}


def _cautions() -> str:
    rows = [(caution.trigger, caution.text) for caution in CAUTIONS.values()]
    return "\n\n".join(
        [
            "# Cautions",
            f"Shown at the step that brings them up and nowhere else. Common practice, no source. {DEFERENCE}",
            table(("brought up by", "words"), rows),
        ]
    )


def _plans() -> str:
    """The tasks of every mode's plan in the first ready-made layout that can have it, without a list of suspects."""
    parts = [
        "# What each plan is made of",
        (
            "The tasks of a work package by failure mode, without a list of suspects: a traced one adds the tasks that "
            "close it. Made from the ready-made layouts; an aircraft that has less gets less. How it is put together: "
            "[from a cause to a work package](../explanation/work.md)."
        ),
    ]
    for mode_id, mode in MODES.items():
        found = next(
            (
                (layout, places[0].part)
                for layout in layouts()
                for candidate, places in applicable(make(layout))
                if candidate.id == mode_id
            ),
            None,
        )
        if found is None:
            continue
        layout, place = found
        package = plan(make(layout), mode_id, None, today=_DAY, place=place)
        tasks = [f"{task.title}{' (only if ' + task.only_if + ')' if task.only_if else ''}" for task in package.tasks]
        gates = [f"{gate.title[:1].upper()}{gate.title[1:]}" for gate in package.gates]
        parts.append(f"## {mode_id}\n\n{mode.name[:1].upper()}{mode.name[1:]}, as planned for `{layout}`.")
        parts.append("\n".join(f"{number}. {title}" for number, title in enumerate(tasks, 1)))
        if gates:
            parts.append(f"Gates: {'; '.join(gates)}.")
    return "\n\n".join(parts)


def _sheets() -> str:
    threads = list(dict.fromkeys(thread for thread, _ in ROWS))
    torque = []
    for thread in threads:
        tension, shear = ROWS[thread, "tension"], ROWS[thread, "shear"]
        torque.append(
            (
                thread,
                f"{tension.low:g} to {tension.high:g}",
                f"{shear.low:g} to {shear.high:g}",
                "" if tension.highest is None else f"{tension.highest:g}",
                "" if shear.highest is None else f"{shear.highest:g}",
            )
        )
    limits = [
        (name.lower().replace("_", " "), _amount(value), str(value.source))
        for name, value in vars(ground_run_limits).items()
        if isinstance(value, Value)
    ]
    return "\n\n".join(
        [
            "# Job sheets",
            "## Label sheets for tags",
            "Sizes as commonly sold (from memory): print on plain paper first and hold it against the labels.",
            table(("name", "sheet"), [(code(sheet.name), sheet.words) for sheet in SHEETS.values()]),
            "## Torque where nothing else is specified",
            (
                f"In-lb, oil-free cadmium-plated threads, {TABLE_7_1}. A pump's or engine's own sheet overrides every "
                "row. Running torque of a self-locking nut is added. A blank was not printed."
            ),
            table(("thread", "tension nut", "shear nut", "highest, tension", "highest, shear"), torque),
            "## Limits of the ground run",
            "Examples: the aircraft's own manual overrides each.",
            table(("limit", "value", "source"), limits),
        ]
    )


def _amount(value: Value) -> str:
    if value.dimension == "pressure":
        return f"{inhg(value.number):.1f} inHg"
    return f"{value.number:g} {_UNITS[value.dimension]}"


_UNITS = {"minutes": "min", "angle": "deg", "ratio": "deg an hour, times the sine of the latitude"}
