"""What must not wait for the answer: a lost supply, a dead pump, a reading above the band, oil at the pad, dirty lines.

Thresholds are judgement, set low: a caution too many costs a line of text. What triggers them is the trade's (common
practice).
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from typing import Final

import msgspec

from vanewise.aircraft.description import AircraftDescription
from vanewise.diagnosis.checks import CHECKS, Check
from vanewise.diagnosis.dirt_seen import CARBON_LOOKS, CARBON_REMARKS
from vanewise.diagnosis.evidence import PANEL, Prepared
from vanewise.diagnosis.hypotheses import CHAINS
from vanewise.diagnosis.modes import MODES
from vanewise.diagnosis.symptoms import SUPPLY_LOST
from vanewise.diagnosis.types import Cause, NextCheck
from vanewise.quantities import PA_PER_INHG

DEAD: Final = "coupling_sheared"
"""The mode of a pump that turns no more: its coupling parted or its rotor jammed."""
NO_RUN: Final = (DEAD, "hose_off", "shared_line_lost", "lines_misrouted", "pump_turns_wrong_way")
"""Modes under which an engine run reads nothing of the supply and does harm: broken pieces turn on at the pad, an open
end draws in what lies about, hoses swapped at the pump push its carbon into the gyros (trade notes, F02 and F15), and
so does a pump of the wrong hand that blows (judgement)."""
IN_DOUBT: Final = (
    "indicator_bearing",
    "indicator_contaminated",
    "instrument_case_leak",
    "instrument_mounting",
    "port_plugged",
    "instrument_lines_exchanged",
)
"""Modes under which an instrument shows what is not so: nothing may follow it."""
MAY_BLOW: Final = ("lines_misrouted", "pump_turns_wrong_way")
"""Modes under which the pump may push where it should pull, or the other way, its carbon with it."""
_WRONG_HAND: Final = ("pump_marking_look", "wrong_hand")
_LIKELY: Final = 0.5
_MAY_BE: Final = 0.3
_SURE: Final = 0.95
_DOUBTED: Final = 0.1
_SHEDDING: Final = 0.2
_ROUNDING_INHG: Final = 0.01

EACH_PUMP: Final = "Look at each pump before one is changed: another may have stopped unnoticed."
"""Where there are several and one is dead."""

KILLERS: Final = frozenset(chain.source for chain in CHAINS if DEAD in chain.victims and chain.source != DEAD)
"""What can have killed a pump: every source whose chain ends in a sheared coupling."""

_PUMP_SEEN_DEAD: Final = frozenset({"coupling_parted", "pump_shaft_locked"})
_MAY_SHED: Final = CARBON_LOOKS | {
    ("pump_off_look", "oily"),
    ("pump_off_look", "carbon"),
    ("pump_teardown", "broken"),
    ("pump_teardown", "oil_paste"),
    ("pump_teardown", "foreign_carbon"),
    ("records_look", "no_line_cleaning"),
    ("coupling_look", "stands_still"),
    ("coupling_turn", "locked_or_parted"),
}
"""(check, outcome) after which the lines may shed: carbon seen, a dead pump, no cleaning recorded."""

BEFORE_ANOTHER: Final = (
    "Before another goes on, find what killed it: open it (rotor, vanes, oil, pieces that are not its own), look at "
    "drain, pad and coupling for oil, and into lines, hoses and regulator for carbon of it or of the pump before."
)
SAID_HIGH: Final = frozenset({"gauge_high", "gauge_high_run_up", "gauge_high_at_altitude"})
"""Remarks that say the gauge stood above its band."""
_OIL_AT_PAD: Final = frozenset({"oil_at_drain", "oil_at_pad_joint", "oil_on_belly", "oil_on_coupling"})
"""Remarks of the engine's oil at the pump's pad."""
_OIL_LOST: Final = (
    "Oil at the pump may come from its pad, where the engine can lose all of it. Do not fly before the oil level, the "
    "pad's nuts, gasket and seal were looked at, and it was run on the ground and looked at again."
)
OVER_BAND: Final = (
    "The gauge stood above its band: idle first, no faster than the check needs, and stop as soon as it passes the "
    "band again. What can be looked at with the engine off comes first."
)


# ---- a dead pump ----------------------------------------------------------------------------------------------


def dead(present: Mapping[str, float]) -> bool:
    """True when the pump is more likely dead than not. ``present`` is the chance of each mode being there at all."""
    return present.get(DEAD, 0.0) > _LIKELY


def no_engine_run(present: Mapping[str, float]) -> bool:
    """True when it is more likely than not that an engine run would tell nothing and do harm: look engine off first.

    Not the level *supply dead* as a whole: a regulator stuck open leaves the pump pulling, and covering it tells.
    """
    return sum(present.get(mode, 0.0) for mode in NO_RUN) > _LIKELY


def seen_of_the_wrong_hand(prepared: Prepared) -> bool:
    """True when the mark of a pump fitted now was seen to be of the other hand: no run, be it weak or dead."""
    return any((item.check, item.outcome) == _WRONG_HAND for item in prepared.checks)


def dead_pump_words(found: Sequence[Cause]) -> str:
    """What to do about a pump that was seen dead; empty where none was, or where a cause of its death leads, seen."""
    by_id = {cause.id: cause for cause in found}
    if DEAD not in by_id or not by_id[DEAD].confirmed:
        return ""
    killers = [cause for cause in found if cause.id in KILLERS and cause.confirmed]
    if not killers:
        return f"the pump is dead, seen directly. {BEFORE_ANOTHER}"
    if killers[0] is found[0]:
        return ""
    return (
        f"the pump is dead, and {killers[0].name} was seen directly as well: put that right before another pump goes "
        "on, prove it, and watch whether anything is left."
    )


def killer_unseen(found: Sequence[Cause]) -> str:
    """What to find out before another pump goes on, where one is likely dead of no cause seen; else empty."""
    killed = any(cause.id in KILLERS and cause.confirmed for cause in found)
    return "" if killed or not dead({cause.id: cause.present for cause in found}) else f" {BEFORE_ANOTHER}"


PUMP_REPAIRS: Final = ("pump",)
"""Families of causes after which the pump is replaced."""
OFF_ITS_PAD: Final = (*PUMP_REPAIRS, "pad seal")
"""Families of causes that take the pump off its pad: what leaks at the pad is renewed behind it."""


def pump_comes_off(
    prepared: Prepared,
    causes: Sequence[Cause],
    opened: frozenset[str] = frozenset(),
    repairs: Collection[str] = PUMP_REPAIRS,
) -> bool:
    """True when the pump is off or as good as sure to come off: dead, off already, or one of ``repairs`` to be done."""
    off = any("pump off" in CHECKS[item.check].access for item in prepared.checks)
    due = sum(cause.probability for cause in causes if MODES[cause.id].family in repairs)
    return (
        "pump off" in opened
        or off
        or due >= _SURE
        or bool(_said(prepared) & _PUMP_SEEN_DEAD)
        or dead({cause.id: cause.present for cause in causes})
    )


# ---- lines that may shed --------------------------------------------------------------------------------------


def lines_may_shed(description: AircraftDescription, prepared: Prepared, present: Mapping[str, float]) -> bool:
    """True when no good instrument may be fitted: carbon found, a dead pump, a pump changed and the lines not proved.

    A look through the lines that found them clean is proof against a change of pump; against carbon found elsewhere, or
    a dead pump, it is not.
    """
    shedding = sum(present.get(mode, 0.0) for mode in ("debris_left_in_lines", "inline_filter_loaded"))
    carbon = CARBON_REMARKS
    if description.duty == "pressure":
        shedding += present.get("worn_vanes", 0.0)
        carbon = carbon | {"soot_heavy"}
    if shedding >= _SHEDDING or dead(present) or _said(prepared) & (carbon | _PUMP_SEEN_DEAD | {"stopped_suddenly"}):
        return True
    if any((item.check, item.outcome) in _MAY_SHED for item in prepared.checks):
        return True
    proved = any(item.check == "borescope_lines" and item.outcome == "clean" for item in prepared.checks)
    happened = {event for event, weight in prepared.happened.items() if weight > 0.0}
    if "second_gyro_within_90_days" in happened:
        return True
    uncleaned = "pump_changed" in happened and "lines_cleaned_recorded" not in happened
    return not proved and (uncleaned or "no_line_cleaning_recorded" in happened)


# ---- above the band -------------------------------------------------------------------------------------------


def above_the_band(description: AircraftDescription, prepared: Prepared) -> bool:
    """True when the panel gauge was read above its band as the aircraft is now, nothing covered, capped or shut off, or
    somebody says that it stood there."""
    if _said(prepared) & SAID_HIGH:
        return True
    band = description.gauge.band_high
    if band is None:
        return False
    if prepared.former.highest_pa > band.number + _ROUNDING_INHG * PA_PER_INHG:
        return True
    return any(
        item.value > band.number / PA_PER_INHG + _ROUNDING_INHG
        for group in prepared.gauges
        if group.instrument == PANEL and not group.sister
        for item in group.items
        if not item.point.before and not item.point.under
    )


def runs_the_engine(check: Check) -> bool:
    """True when the check takes an engine run of its own."""
    return check.needs_running_pump and not check.after_any_run


def with_limit(check: NextCheck) -> NextCheck:
    """A check that runs the engine, with the limit a reading above the band puts to it; another as it is."""
    if not CHECKS[check.id].needs_running_pump:
        return check
    return msgspec.structs.replace(check, cautions=(OVER_BAND, *check.cautions))


# ---- remarks --------------------------------------------------------------------------------------------------


def cautions(
    found: Sequence[Cause], by_level: Mapping[str, float], description: AircraftDescription, prepared: Prepared
) -> list[str]:
    """What must not wait for the answer, in words. ``by_level`` is the probability of each level."""
    said = []
    present = {cause.id: cause.present for cause in found}

    def there(*modes: str) -> float:
        return sum(present.get(mode, 0.0) for mode in modes)

    dead_level = by_level.get("supply dead", 0.0)
    lost = dead_level >= _MAY_BE or bool(_said(prepared) & SUPPLY_LOST)
    if lost:
        state = "No supply" if dead_level > _LIKELY else "The supply may be lost"
        said.append(f"{state}: in cloud this is an emergency for the pilot.")
    if there(DEAD) >= (_DOUBTED if lost else _MAY_BE):
        said.append("Do not fly with a dead pump turning on its pad.")
    if there(*MAY_BLOW) >= _MAY_BE:
        ways = ("push", "pull") if description.duty == "suction" else ("pull", "push")
        said.append(
            f"The pump may {ways[0]} where it should {ways[1]}: look at its mark, trace its hoses and look into them "
            "before the engine runs."
        )
    if there(*IN_DOUBT) > _DOUBTED:
        said.append("An indicator under suspicion must not fly the autopilot.")
    if _said(prepared) & _OIL_AT_PAD or there("pad_seal_leak", "pad_gasket_wrong") > _MAY_BE:
        said.append(_OIL_LOST)
    over = above_the_band(description, prepared)
    if over:
        said.append(
            "The gauge stood above its band. On the ground throttle back, stop the engine, and look first at what can "
            "be seen with it off."
        )
    if over or there("regulator_high", "regulator_stuck_shut", "regulator_filter_clogged") > _MAY_BE:
        said.append("Above the band gyros overspeed: do not fly it so.")
    return said


def _said(prepared: Prepared) -> frozenset[str]:
    """Every symptom that somebody says was there."""
    return frozenset(item.symptom for group in prepared.remarks for item in group.items if item.present)
