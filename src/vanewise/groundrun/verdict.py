"""From the readings of a run to pass, fail or not shown, with the margin of each point."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

import msgspec

from vanewise.errors import InputError, Problem
from vanewise.groundrun.drift import earth_share_deg, rest_deg
from vanewise.groundrun.types import (
    KNEE_SHARE,
    GroundRunPlan,
    GroundRunReading,
    GroundRunVerdict,
    PointVerdict,
    TestPoint,
    Verdict,
)
from vanewise.quantities import PA_PER_INHG, inhg
from vanewise.values import ground_run_limits as limits

KNOWN: Final = (
    "gauge",
    "lamp out",
    "lamp on",
    "cover test",
    "erect",
    "drift",
    "taxi turn",
    "autopilot",
    "disconnect",
    "outlet",
    "drain",
    "standby",
    "cycle",
)
_SAME_RPM: Final = 50.0
"""Readings within so many rpm of a test point belong to it."""
_SIGHTS: Final = {
    "autopilot": "the manual's ground test passed",
    "disconnect": "every way to disconnect works",
    "outlet": "no soot, free",
    "drain": "dry",
    "standby": "carries the instruments by itself",
    "cycle": "boots or door seal cycled twice, the gauge recovers within seconds",
}


def judge(plan: GroundRunPlan, readings: Sequence[GroundRunReading]) -> GroundRunVerdict:
    """The verdict of a run. Fail when any point fails, not shown while any needed point is missing, else pass.

    Raises :class:`InputError` for a reading of a kind it does not know, or without its number.
    """
    _check(readings)
    verdicts = [_point(plan, point, readings) for point in plan.points]
    verdicts += _elsewhere(plan, readings)
    hysteresis = _hysteresis(plan, readings)
    if hysteresis is not None:
        verdicts.append(hysteresis)
    if plan.lamp_rpm_low is not None:
        verdicts += _lamp(plan, readings)
    if plan.cover_rpm is not None or _of(readings, "cover test"):
        verdicts.append(_cover(plan, readings))
    if "attitude indicator" in plan.gyros:
        verdicts += [_erect(readings), *_taxi_turn(readings)]
    if "heading indicator" in plan.gyros:
        verdicts.append(_drift(plan, readings))
    verdicts += _sights(plan, readings)
    states = {verdict.verdict for verdict in verdicts}
    overall: Verdict = "fail" if "fail" in states else "not shown" if "not shown" in states else "pass"
    return GroundRunVerdict(overall=overall, points=tuple(verdicts), remarks=_remarks(plan, readings, verdicts))


def _check(readings: Sequence[GroundRunReading]) -> None:
    problems = []
    for reading in readings:
        needs_rpm = reading.what in ("gauge", "cover test")
        if reading.what not in KNOWN:
            problems.append(_problem(reading, f"one of {', '.join(KNOWN)}", reading.what))
        elif reading.what in _SIGHTS and not reading.outcome.strip():
            problems.append(_problem(reading, "what was seen: pass or fail", "nothing"))
        elif reading.what not in _SIGHTS and (reading.value is None or not math.isfinite(reading.value)):
            problems.append(_problem(reading, "a number", "none"))
        elif needs_rpm and (reading.engine_rpm is None or reading.engine_rpm <= 0.0):
            problems.append(_problem(reading, "the engine speed it was read at", "none"))
        elif reading.what == "drift" and reading.minutes <= 0.0:
            problems.append(_problem(reading, "the minutes it was watched", f"{reading.minutes:g}"))
    if problems:
        raise InputError(problems)


def _problem(reading: GroundRunReading, expected: str, found: str) -> Problem:
    return Problem(
        where=f"reading {reading.id} ({reading.what})",
        expected=expected,
        found=found,
        next_step="correct it and judge again",
    )


def _of(readings: Sequence[GroundRunReading], what: str) -> tuple[GroundRunReading, ...]:
    return tuple(reading for reading in readings if reading.what == what)


def _near(readings: Sequence[GroundRunReading], rpm: float) -> tuple[GroundRunReading, ...]:
    return tuple(r for r in readings if r.engine_rpm is not None and abs(r.engine_rpm - rpm) <= _SAME_RPM)


def _number(pascal: float) -> str:
    return f"{inhg(pascal):.1f}"


def _point(plan: GroundRunPlan, point: TestPoint, readings: Sequence[GroundRunReading]) -> PointVerdict:
    """One engine speed: every reading there must lie inside the band, and under the gauge's own upper limit."""
    what = f"gauge at {point.engine_rpm:.0f} rpm"
    low, high = _limits(plan, point)
    expected = f"{_number(low)} to {_number(high)} inHg"
    exposes = ", ".join(point.exposes)
    taken = _near(_of(readings, "gauge"), point.engine_rpm)
    if not taken:
        return _not_shown(what, expected, exposes)
    values = [reading.value for reading in taken if reading.value is not None]
    words = ", ".join(f"{_number(reading.value or 0.0)} inHg {reading.direction}" for reading in taken)
    worst = min(values, key=lambda value: min(value - low, high - value))
    over = plan.band_high_pa is not None and max(values) > plan.band_high_pa + _HALF_DIGIT
    if over:
        assert plan.band_high_pa is not None
        margin = f"stop: above the band by {_number(max(values) - plan.band_high_pa)} inHg"
        return PointVerdict(
            what=what, verdict="fail", margin=margin, reading=words, expected=expected, would_expose=exposes
        )
    inside = low - _HALF_DIGIT <= worst <= high + _HALF_DIGIT
    return PointVerdict(
        what=what,
        verdict="pass" if inside else "fail",
        margin=_margin(worst, low, high),
        reading=words,
        expected=expected,
        would_expose=exposes,
    )


_HALF_DIGIT: Final = 0.05 * PA_PER_INHG
"""A needle is written to a tenth; a reading on the limit passes."""


def _limits(plan: GroundRunPlan, point: TestPoint) -> tuple[float, float]:
    """The predicted band, cut by the gauge's own band: above it never, below it not on the plateau."""
    low, high = point.low_pa, point.high_pa
    if plan.band_high_pa is not None:
        high = min(high, plan.band_high_pa)
    on_plateau = plan.plateau_rpm is not None and point.engine_rpm >= plan.plateau_rpm - _SAME_RPM
    if plan.band_low_pa is not None and on_plateau:
        low = max(low, plan.band_low_pa)
    return low, high


def _margin(value: float, low: float, high: float) -> str:
    if min(abs(value - low), abs(value - high)) <= _HALF_DIGIT:
        return "on the limit"
    if value < low:
        return f"{_number(low - value)} inHg below"
    if value > high:
        return f"{_number(value - high)} inHg above"
    return f"inside by {_number(min(value - low, high - value))} inHg"


def _not_shown(what: str, expected: str, exposes: str = "") -> PointVerdict:
    return PointVerdict(
        what=what, verdict="not shown", margin="", reading="none", expected=expected, would_expose=exposes
    )


def _elsewhere(plan: GroundRunPlan, readings: Sequence[GroundRunReading]) -> list[PointVerdict]:
    """Readings at speeds that are no test point still count when they lie above the gauge's band."""
    if plan.band_high_pa is None:
        return []
    named = {reading.id for point in plan.points for reading in _near(_of(readings, "gauge"), point.engine_rpm)}
    return [
        PointVerdict(
            what=f"gauge at {reading.engine_rpm:.0f} rpm",
            verdict="fail",
            margin=f"stop: above the band by {_number((reading.value or 0.0) - plan.band_high_pa)} inHg",
            reading=f"{_number(reading.value or 0.0)} inHg",
            expected=f"at most {_number(plan.band_high_pa)} inHg",
        )
        for reading in _of(readings, "gauge")
        if reading.id not in named and reading.value is not None and reading.value > plan.band_high_pa + _HALF_DIGIT
    ]


def _hysteresis(plan: GroundRunPlan, readings: Sequence[GroundRunReading]) -> PointVerdict | None:
    """Rising against falling at the same speed; None when nothing was read both ways."""
    most, at = -1.0, 0.0
    for point in plan.points:
        taken = _near(_of(readings, "gauge"), point.engine_rpm)
        rising = [r.value for r in taken if r.direction == "rising" and r.value is not None]
        falling = [r.value for r in taken if r.direction == "falling" and r.value is not None]
        if rising and falling:
            apart = abs(sum(rising) / len(rising) - sum(falling) / len(falling))
            if apart > most:
                most, at = apart, point.engine_rpm
    limit = limits.HYSTERESIS
    expected = f"at most {_number(limit.number)} inHg apart, {limit.source}"
    if most < 0.0:
        return _not_shown("rising against falling", expected, "dirt on the regulator seat, a sticking valve or gauge")
    return PointVerdict(
        what="rising against falling",
        verdict="pass" if most <= limit.number + 1.0 else "fail",
        margin=f"{_number(abs(limit.number - most))} inHg {'inside' if most <= limit.number + 1.0 else 'over'}",
        reading=f"{_number(most)} inHg apart at {at:.0f} rpm",
        expected=expected,
        would_expose="dirt on the regulator seat, a sticking valve or gauge",
    )


def _lamp(plan: GroundRunPlan, readings: Sequence[GroundRunReading]) -> list[PointVerdict]:
    assert plan.lamp_rpm_low is not None
    assert plan.lamp_rpm_high is not None
    low, high = plan.lamp_rpm_low, plan.lamp_rpm_high
    expected = f"{low:.0f} to {high:.0f} rpm, rising"
    exposes = ", ".join(plan.lamp_exposes) or "whatever weakens the supply at low speed"
    rising = _of(readings, "lamp out")
    if not rising:
        return [_not_shown("lamp out", expected, exposes)]
    rpm = max(reading.value or 0.0 for reading in rising)
    inside = low <= rpm <= high
    margin = min(abs(rpm - low), abs(high - rpm))
    verdicts = [
        PointVerdict(
            what="lamp out",
            verdict="pass" if inside else "fail",
            margin=f"{'inside' if inside else 'outside'} by {margin:.0f} rpm",
            reading=f"{rpm:.0f} rpm",
            expected=expected,
            would_expose=exposes,
        )
    ]
    falling = _of(readings, "lamp on")
    if falling:
        on = max(reading.value or 0.0 for reading in falling)
        verdicts.append(
            PointVerdict(
                what="lamp on",
                verdict="pass" if on <= rpm + _SAME_RPM else "fail",
                margin=f"{abs(rpm - on):.0f} rpm {'below' if on <= rpm else 'above'} the speed where it went out",
                reading=f"{on:.0f} rpm",
                expected="falling, not above the speed where it went out",
                would_expose="a sticking switch",
            )
        )
    return verdicts


def _cover(plan: GroundRunPlan, readings: Sequence[GroundRunReading]) -> PointVerdict:
    """Covering a sound, shut regulator's intake changes nothing; a rise is the seat's leak."""
    allowed = 2.0 * math.sqrt(2.0) * plan.read_sd_pa
    expected = f"no rise beyond {_number(allowed)} inHg, below the knee"
    exposes = "dirt on the regulator seat"
    pairs = []
    for covered in _of(readings, "cover test"):
        open_air = _near(_of(readings, "gauge"), covered.engine_rpm or 0.0)
        values = [reading.value for reading in open_air if reading.value is not None]
        if values and covered.value is not None:
            pairs.append((covered.value - sum(values) / len(values), covered))
    if not pairs:
        return _not_shown("cover test", expected, exposes)
    rise, covered = max(pairs, key=lambda pair: pair[0])
    highest = max((reading.value or 0.0 for reading in _of(readings, "gauge")), default=0.0)
    above_knee = (covered.value or 0.0) - rise > KNEE_SHARE * highest
    if above_knee:
        return PointVerdict(
            what="cover test",
            verdict="not shown",
            margin="done at or above the knee, where covering raises the reading of a sound regulator too",
            reading=f"rise {_number(rise)} inHg at {covered.engine_rpm:.0f} rpm",
            expected=expected,
            would_expose=exposes,
        )
    return PointVerdict(
        what="cover test",
        verdict="pass" if rise <= allowed else "fail",
        margin=f"{_number(abs(allowed - rise))} inHg {'inside' if rise <= allowed else 'over'}",
        reading=f"rise {_number(rise)} inHg at {covered.engine_rpm:.0f} rpm",
        expected=expected,
        would_expose=exposes,
    )


def _erect(readings: Sequence[GroundRunReading]) -> PointVerdict:
    limit = limits.ERECT_MINUTES
    return _at_most(
        readings, "erect", "attitude erect", limit.number, "min", str(limit.source), "indicator bearing, weak supply"
    )


def _taxi_turn(readings: Sequence[GroundRunReading]) -> list[PointVerdict]:
    limit = limits.TAXI_TURN_DEG
    if not _of(readings, "taxi turn"):
        return []
    return [
        _at_most(readings, "taxi turn", "attitude in taxi turns", limit.number, "deg", str(limit.source), "indicator")
    ]


def _at_most(
    readings: Sequence[GroundRunReading], key: str, what: str, limit: float, unit: str, source: str, exposes: str
) -> PointVerdict:
    expected = f"at most {limit:g} {unit}, {source}"
    taken = _of(readings, key)
    if not taken:
        return _not_shown(what, expected, exposes)
    worst = max(abs(reading.value or 0.0) for reading in taken)
    return PointVerdict(
        what=what,
        verdict="pass" if worst <= limit else "fail",
        margin=f"{abs(limit - worst):.1f} {unit} {'inside' if worst <= limit else 'over'}",
        reading=f"{worst:.1f} {unit}",
        expected=expected,
        would_expose=exposes,
    )


def _drift(plan: GroundRunPlan, readings: Sequence[GroundRunReading]) -> PointVerdict:
    limit = limits.DRIFT_REST_DEG
    what, exposes = "heading drift", "indicator bearing, contaminated indicator, weak supply"
    taken = _of(readings, "drift")
    known = [(r, place) for r in taken if (place := _latitude(plan, r)) is not None]
    if plan.latitude_deg is None and not known:
        expected = f"{limit.number:g} deg in 15 min after the earth's share, which needs the field's latitude"
        return _not_shown(what, expected, exposes)
    if not known:
        earth = earth_share_deg(plan.latitude_deg or 0.0, 15.0)
        expected = f"at most {limit.number:g} deg in 15 min beside the earth's {earth:+.1f}, {limit.source}"
        return _not_shown(what, expected, exposes)
    rests = [(rest_deg(r.value or 0.0, r.minutes, place, r.eastward_knots), r, place) for r, place in known]
    rest, worst, place = max(rests, key=lambda entry: abs(entry[0]) / entry[1].minutes)
    earth = earth_share_deg(place, 15.0)
    expected = f"at most {limit.number:g} deg in 15 min beside the earth's {earth:+.1f}, {limit.source}"
    allowed = limit.number * worst.minutes / 15.0
    share = earth_share_deg(place, worst.minutes)
    travel = earth_share_deg(place, worst.minutes, worst.eastward_knots) - share
    moved = f", travel {travel:+.1f}" if worst.eastward_knots else ""
    return PointVerdict(
        what=what,
        verdict="pass" if abs(rest) <= allowed else "fail",
        margin=f"{abs(allowed - abs(rest)):.1f} deg {'inside' if abs(rest) <= allowed else 'over'}",
        reading=f"{worst.value:+.1f} deg in {worst.minutes:.0f} min, of which earth {share:+.1f}{moved}, "
        f"rest {rest:+.1f}",
        expected=expected,
        would_expose=exposes,
    )


def _latitude(plan: GroundRunPlan, reading: GroundRunReading) -> float | None:
    return plan.latitude_deg if reading.latitude_deg is None else reading.latitude_deg


def _sights(plan: GroundRunPlan, readings: Sequence[GroundRunReading]) -> list[PointVerdict]:
    """What is seen and not measured. Outlet and drain are always wanted, the autopilot where it follows the air."""
    wanted = [] if plan.hot else ["outlet", "drain"]
    wanted += ["autopilot", "disconnect"] if plan.has_autopilot else []
    also = ("autopilot", "disconnect", "standby", "cycle")
    wanted += [what for what in also if what not in wanted and _of(readings, what)]
    verdicts = []
    for what in wanted:
        taken = _of(readings, what)
        if not taken:
            verdicts.append(_not_shown(what, _SIGHTS[what]))
            continue
        failed = [reading for reading in taken if not reading.outcome.strip().lower().startswith("pass")]
        verdicts.append(
            PointVerdict(
                what=what,
                verdict="fail" if failed else "pass",
                margin="",
                reading=(failed or taken)[0].outcome,
                expected=_SIGHTS[what],
            )
        )
    return verdicts


def _remarks(
    plan: GroundRunPlan, readings: Sequence[GroundRunReading], verdicts: Sequence[PointVerdict]
) -> tuple[str, ...]:
    remarks: list[str] = []
    if any(verdict.margin.startswith("stop") for verdict in verdicts):
        remarks.append("Above the band: stop the run. Gyros overspeed; do not fly.")
    failed = [verdict for verdict in verdicts if verdict.verdict == "fail"]
    missing = [verdict.what for verdict in verdicts if verdict.verdict == "not shown"]
    if failed:
        remarks.append(f"Failed: {', '.join(verdict.what for verdict in failed)}.")
    if missing:
        remarks.append(f"Not shown yet: {', '.join(missing)}.")
    if not failed and not missing:
        remarks.append("Every point within its band. Keep this run as the new baseline.")
    if not any(reading.direction == "falling" for reading in readings):
        remarks.append("Nothing was read falling: take the sweep down as well.")
    remarks.append("A run on the ground proves little about height and heat; look again at 1, 10 and 25 h.")
    remarks.append("This is a computation. A certificated person decides and signs.")
    return tuple(remarks)


def hot_repeat(plan: GroundRunPlan) -> GroundRunPlan:
    """The same bands for a sweep repeated hot, half an hour after shutdown: the sweep alone is asked for.

    A hose that goes soft does it hot, and everything else was shown in the first run.
    """
    return msgspec.structs.replace(
        plan, hot=True, gyros=(), has_autopilot=False, lamp_rpm_low=None, lamp_rpm_high=None, cover_rpm=None
    )
