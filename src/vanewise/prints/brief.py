"""Half a page for the next pilots: what is normal now, what to report, and room to note it."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from typing import Final

from vanewise.groundrun.types import GroundRunPlan, GroundRunReading
from vanewise.prints.press import paper, typeset
from vanewise.quantities import PA_PER_INHG, inhg
from vanewise.work.cautions import texts

LATER_RPM: Final = 150.0
"""Later than this against the normal speed, the lamp is worth a word (judgement)."""
MOVED_PA: Final = 0.3 * PA_PER_INHG
"""A reading that moved by this at the same speed is worth a word (judgement)."""
LOST_IN_FLIGHT: Final = (
    "Gauge to zero or lamp on in flight: fly by what does not need air, autopilot off, cover the instruments in doubt, "
    "tell air traffic control. In cloud it is an emergency: say so and get out of it."
)
_NEAR_RPM: Final = 50.0
_PA_PER_HPA: Final = 100.0


def pilot_brief_pdf(
    plan: GroundRunPlan,
    readings: Sequence[GroundRunReading],
    *,
    aircraft: str,
    dated: datetime.date,
    run_up_rpm: float,
    cruise_rpm: float,
    package: str = "",
    page: str = "a4",
    metric: bool = False,
) -> bytes:
    """The brief from the run that proved the work: what it read is what is normal. Same run, same bytes.

    Where a speed was not read, the middle of the predicted band stands in and says so.
    """
    unit = "hPa" if metric else "inHg"
    lamp = _lamp(readings)
    data = {
        "paper": paper(page),
        "aircraft": aircraft,
        "package": f"  ·  package {package[:12]}" if package else "",
        "foot": "Information for pilots, not an approval and no part of the flight handbook.",
        "dated": str(dated),
        "normal": _normal(plan, readings, lamp, run_up_rpm, cruise_rpm, metric),
        "why": "A right reading in cruise proves little: the speed at which the lamp goes out moves first.",
        "report": _report(lamp, metric),
        "cautions": (LOST_IN_FLIGHT, *texts("suspect indicator")),
        "run_up": f"{run_up_rpm:.0f} rpm, {unit}",
        "cruise": f"cruise, {unit}",
    }
    return typeset("pilot_brief", data, dated)


def _lamp(readings: Sequence[GroundRunReading]) -> float | None:
    speeds = [reading.value for reading in readings if reading.what == "lamp out" and reading.value is not None]
    return max(speeds) if speeds else None


def _normal(
    plan: GroundRunPlan,
    readings: Sequence[GroundRunReading],
    lamp: float | None,
    run_up_rpm: float,
    cruise_rpm: float,
    metric: bool,
) -> list[tuple[str, str]]:
    rows = []
    if lamp is not None:
        rows.append(("lamp goes out, engine speed rising", f"{lamp:.0f} rpm"))
    for name, rpm in (("run-up", run_up_rpm), ("cruise power", cruise_rpm)):
        words = _reading_words(plan, readings, rpm, metric)
        if words:
            rows.append((f"gauge at {rpm:.0f} rpm ({name})", words))
    if plan.band_low_pa is not None and plan.band_high_pa is not None:
        rows.append(("gauge band", f"{_number(plan.band_low_pa, metric)} to {_shown(plan.band_high_pa, metric)}"))
    return rows


def _reading_words(plan: GroundRunPlan, readings: Sequence[GroundRunReading], rpm: float, metric: bool) -> str:
    taken = [
        reading.value
        for reading in readings
        if reading.what == "gauge"
        and reading.value is not None
        and reading.engine_rpm is not None
        and abs(reading.engine_rpm - rpm) <= _NEAR_RPM
    ]
    if taken:
        return _shown(sum(taken) / len(taken), metric)
    near = [point for point in plan.points if abs(point.engine_rpm - rpm) <= _NEAR_RPM]
    return f"{_shown(near[0].middle_pa, metric)}, predicted" if near else ""


def _report(lamp: float | None, metric: bool) -> list[str]:
    lines = [f"a gauge reading that moved by {_shown(MOVED_PA, metric)} or more at the same engine speed"]
    if lamp is not None:
        lines.insert(0, f"the lamp going out above {lamp + LATER_RPM:.0f} rpm, on more than one start")
    return [
        *lines,
        "a needle that wanders, or reads differently after each throttle change",
        "attitude slow to erect, leaning, or not level in taxi turns",
        "heading off by more than usual between settings",
        "autopilot hunting, rolling off, or letting go",
        "soot at the outlet, oil at the drain, a hiss behind the panel",
        "anybody having turned the regulator's screw",
    ]


def _number(pascal: float, metric: bool) -> str:
    return f"{pascal / _PA_PER_HPA:.0f}" if metric else f"{inhg(pascal):.1f}"


def _shown(pascal: float, metric: bool) -> str:
    return f"{_number(pascal, metric)} {'hPa' if metric else 'inHg'}"
