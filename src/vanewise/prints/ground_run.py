"""The ground-run card: what this aircraft should read today, with room to write."""

from __future__ import annotations

import datetime
from typing import Any

from vanewise.groundrun.drift import earth_share_deg
from vanewise.groundrun.types import GroundRunPlan, TestPoint
from vanewise.prints.press import paper, typeset
from vanewise.quantities import PA_PER_INHG, inhg, shown
from vanewise.values import ground_run_limits as limits

_MOST_EXPOSED = 4
_PA_PER_HPA = 100.0


def ground_run_card_pdf(
    plan: GroundRunPlan,
    *,
    aircraft: str,
    dated: datetime.date,
    package: str = "",
    page: str = "a4",
    metric: bool = False,
) -> bytes:
    """One card for the cockpit. ``package`` is the id of the work package it proves. Same plan, same bytes."""
    everywhere = _everywhere(plan)
    data = {
        "paper": paper(page),
        "aircraft": aircraft,
        "package": f"  ·  package {package[:12]}" if package else "",
        "foot": (
            f"Predicted for {shown(plan.altitude_m, 'altitude', metric)} and "
            f"{shown(plan.temperature_k, 'temperature', True)} on {dated}. A card, not an approval."
        ),
        "unit": "hPa" if metric else "inHg",
        **_stop(plan, metric),
        "cautions": plan.cautions,
        "points": _points(plan, everywhere, metric),
        "how": _how(everywhere),
        "others": _others(plan, metric),
        "chart": _chart(plan, metric),
        "before": _BEFORE,
        "after": _AFTER,
        "basis": f"Basis: {'; '.join(plan.basis)}.",
    }
    return typeset("ground_run_card", data, dated)


_BEFORE = (
    "hoses as mapped, counts closed, nothing loose",
    "outlet free, drain open and lowest",
    "pointer on its stop, engine off",
    "brakes, chocks, area clear, observer, fire extinguisher",
)
_AFTER = (
    "outlet: soot none, drain: dry",
    "hoses warm but firm, no hiss, paint marks whole",
    "gyros left to run down: aircraft not moved for 15 minutes",
    "readings entered; this run is the new baseline if it passes",
)


def _pressure(pascal: float, metric: bool) -> str:
    return f"{pascal / _PA_PER_HPA:.0f}" if metric else f"{inhg(pascal):.1f}"


def _stop(plan: GroundRunPlan, metric: bool) -> dict[str, str]:
    if plan.band_high_pa is None:
        return {
            "stop_at": "STOP",
            "stop": "when the gauge is above its own band at any speed: gyros overspeed; do not fly.",
        }
    unit = "hPa" if metric else "inHg"
    return {
        "stop_at": f"Above {_pressure(plan.band_high_pa, metric)} {unit}: STOP",
        "stop": "at any speed. Throttle back; gyros overspeed; do not fly.",
    }


def _everywhere(plan: GroundRunPlan) -> tuple[str, ...]:
    """Causes that any of the speeds would show: said once, not on every line."""
    if not plan.points:
        return ()
    shared = set.intersection(*(set(point.exposes) for point in plan.points))
    return tuple(cause for cause in plan.points[0].exposes if cause in shared)


def _how(everywhere: tuple[str, ...]) -> str:
    at_any = f" At any speed: {', '.join(everywhere)}." if everywhere else ""
    return (
        "Warm oil. Hold each speed 15 seconds, up and then down, and write to the nearest tenth. Would show: a fault "
        f"of middling size that would put the reading outside its band, named at the lowest such speed.{at_any}"
    )


def _points(plan: GroundRunPlan, everywhere: tuple[str, ...], metric: bool) -> list[dict[str, str]]:
    named = set(everywhere)
    rows = []
    for point in plan.points:
        own = [cause for cause in point.exposes if cause not in named]
        named |= set(own)
        rows.append(_point(point, own, metric))
    return rows


def _point(point: TestPoint, own: list[str], metric: bool) -> dict[str, str]:
    exposes = own[:_MOST_EXPOSED]
    if len(own) > _MOST_EXPOSED:
        exposes.append(f"and {len(own) - _MOST_EXPOSED} more")
    return {
        "rpm": f"{point.engine_rpm:.0f}",
        "band": f"{_pressure(point.low_pa, metric)} to {_pressure(point.high_pa, metric)}",
        "lamp": point.note.removeprefix("lamp ").replace("may be on or out", "on or out"),
        "exposes": ", ".join(exposes),
    }


def _others(plan: GroundRunPlan, metric: bool) -> list[dict[str, str]]:
    rows: list[dict[str, str]] = []

    def row(what: str, expected: str) -> None:
        rows.append({"what": what, "expected": expected})

    if plan.lamp_rpm_low is not None and plan.lamp_rpm_high is not None:
        row("lamp out, rising", f"{plan.lamp_rpm_low:.0f} to {plan.lamp_rpm_high:.0f} rpm")
        row("lamp on, falling", "not above the speed where it went out")
    if plan.cover_rpm is not None:
        row(f"intake covered 5 s at {plan.cover_rpm:.0f} rpm", _cover_words(plan, metric))
    if "attitude indicator" in plan.gyros:
        row("attitude erect", f"within {limits.ERECT_MINUTES.number:.0f} min")
        row("attitude in taxi turns", f"within {limits.TAXI_TURN_DEG.number:.0f} deg, level straight on")
    if "heading indicator" in plan.gyros:
        row("heading, 15 min", _drift_words(plan))
    if plan.has_autopilot:
        row("autopilot", "the manual's own test; every way to disconnect")
    row("standby source", "where fitted: carries the gyros alone")
    return rows


def _cover_words(plan: GroundRunPlan, metric: bool) -> str:
    only = ""
    if plan.cover_below_pa is not None:
        unit = "hPa" if metric else "inHg"
        only = f"only while reading under {_pressure(plan.cover_below_pa, metric)} {unit}; "
    return f"{only}no rise: a rise is the regulator's seat"


def _drift_words(plan: GroundRunPlan) -> str:
    if plan.latitude_deg is None:
        return "write drift and latitude: the earth takes its share"
    share = earth_share_deg(plan.latitude_deg, 15.0)
    low, high = share - limits.DRIFT_REST_DEG.number, share + limits.DRIFT_REST_DEG.number
    return f"{low:+.1f} to {high:+.1f} deg, of which the earth {share:+.1f}"


def _chart(plan: GroundRunPlan, metric: bool) -> dict[str, Any]:
    """Shares of the drawing's width and height, so that the template only draws."""
    step = 50.0 * _PA_PER_HPA if metric else PA_PER_INHG
    top_pa = max((*(point.high_pa for point in plan.points), plan.band_high_pa or 0.0))
    rows = int(top_pa / step) + 1
    first, last = 500.0, max(2500.0, max(point.engine_rpm for point in plan.points) + 100.0)

    def across(rpm: float) -> float:
        return (rpm - first) / (last - first)

    def up(pascal: float) -> float:
        return pascal / (rows * step)

    limits_pa = [(plan.band_low_pa, "band, low"), (plan.band_high_pa, "band, high")]
    return {
        "low": [(across(point.engine_rpm), up(point.low_pa)) for point in plan.points],
        "high": [(across(point.engine_rpm), up(point.high_pa)) for point in plan.points],
        "y_ticks": [{"at": n / rows, "name": f"{n * 50}" if metric else str(n)} for n in range(rows + 1)],
        "x_ticks": [{"at": across(rpm), "name": f"{rpm:.0f}"} for rpm in _round_speeds(last)],
        "limits": [{"at": up(value), "name": name} for value, name in limits_pa if value is not None],
    }


def _round_speeds(last: float) -> list[float]:
    return [float(rpm) for rpm in range(500, int(last) + 1, 500)]
