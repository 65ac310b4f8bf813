"""Words for what people notice: symptoms (groups A to F of the trade) and events that change what is likely (group G).

A symptom of an instrument hangs on the *solved* drive of that instrument in each row of the bank, so that ten soft
remarks about one weak supply do not count as ten proofs. What does not follow from pressures (soot, oil, a nest) hangs
on the failure modes through their ``signs``. All probabilities are judgement of the authors.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final, Literal

import msgspec

Condition = Literal["idle", "taxi", "fast taxi", "run-up", "cruise"]


class Drive(msgspec.Struct, frozen=True, kw_only=True):
    """Probability of noticing from the drive of an instrument: a logistic step down as the drop rises."""

    threshold_inhg: float
    width_inhg: float
    at: tuple[Condition, ...]
    """Conditions whose drops are averaged."""
    top: float = 0.85
    """Probability when the instrument gets next to nothing."""


class GaugeSign(msgspec.Struct, frozen=True, kw_only=True):
    """Probability of noticing from what the panel gauge or lamp shows: against the band on its face, the lamp's trip,
    or what a sound system reads there (``fallen``)."""

    side: Literal["low", "high", "zero", "lamp", "fallen"]
    at: Condition
    width_inhg: float = 0.2


class Symptom(msgspec.Struct, frozen=True, kw_only=True):
    """Something a person notices, or looks for and does not find."""

    id: str
    group: Literal["attitude", "heading", "power", "engine bay", "filter", "autopilot"]
    words: str
    base: float
    """Probability that it is noticed with nothing wrong that would cause it."""
    instrument: str = ""
    """Kind of the instrument it is about, when it is about one."""
    drive: Drive | None = None
    gauge: GaugeSign | None = None
    after_stop: float = 0.0
    """Probability within ten minutes of the pump stopping (the steady model says nothing there)."""
    manners: tuple[str, ...] = ()
    """Ways it may show, of which the person names one. Kept and shown; no likelihood hangs on them, because nothing
    published says how often which way comes from which fault."""
    direct: bool = False
    """True for something seen on a part (soot, oil), not felt in flight: grade 1 rather than 0."""


_AI, _HI = "attitude indicator", "heading indicator"
_CRUISE: Final[tuple[Condition, ...]] = ("cruise",)
_WEAK = Drive(threshold_inhg=3.2, width_inhg=0.35, at=_CRUISE)
_ERECT = Drive(threshold_inhg=2.7, width_inhg=0.35, at=("taxi", "run-up"), top=0.9)
_VERY_WEAK = Drive(threshold_inhg=2.0, width_inhg=0.35, at=_CRUISE)
_FOLLOWS = Drive(threshold_inhg=3.0, width_inhg=0.4, at=_CRUISE, top=0.7)

_SYMPTOMS: Final = (
    Symptom(
        id="ai_tumbles",
        group="attitude",
        words="attitude indicator tumbles",
        base=0.01,
        instrument=_AI,
        drive=_VERY_WEAK,
        after_stop=0.3,
    ),
    Symptom(
        id="ai_leans",
        group="attitude",
        manners=("to the left", "to the right"),
        words="attitude indicator leans",
        base=0.04,
        instrument=_AI,
        drive=_WEAK,
        after_stop=0.6,
    ),
    Symptom(
        id="ai_pitch_error",
        group="attitude",
        words="attitude indicator shows pitch in level flight",
        base=0.04,
        instrument=_AI,
        drive=_WEAK,
        after_stop=0.4,
    ),
    Symptom(
        id="ai_slow_erect",
        group="attitude",
        words="attitude indicator slow to erect after start",
        base=0.05,
        instrument=_AI,
        drive=_ERECT,
    ),
    Symptom(
        id="ai_late_erect_cold",
        group="attitude",
        words="attitude indicator erects late when cold",
        base=0.08,
        instrument=_AI,
        drive=_ERECT,
    ),
    Symptom(
        id="ai_precesses_after_turn",
        group="attitude",
        manners=("after a left turn", "after a right turn"),
        words="attitude indicator off after a turn",
        base=0.06,
        instrument=_AI,
        drive=_WEAK,
        after_stop=0.5,
    ),
    Symptom(id="ai_jitters", group="attitude", words="attitude indicator jitters", base=0.03, instrument=_AI),
    Symptom(
        id="ai_flag",
        group="attitude",
        words="flag of the attitude indicator shows",
        base=0.02,
        instrument=_AI,
        drive=_WEAK,
        after_stop=0.8,
    ),
    Symptom(id="ai_noise", group="attitude", words="attitude indicator noisy", base=0.04, instrument=_AI),
    Symptom(
        id="ai_coast_short",
        group="attitude",
        words="attitude indicator stops soon after shutdown",
        base=0.06,
        instrument=_AI,
    ),
    Symptom(
        id="hi_drifts",
        group="heading",
        manners=("to the left", "to the right"),
        words="heading indicator drifts more than the earth's turning explains",
        base=0.08,
        instrument=_HI,
        drive=_WEAK,
        after_stop=0.5,
    ),
    Symptom(
        id="hi_sudden_jump",
        group="heading",
        words="heading indicator jumps",
        base=0.03,
        instrument=_HI,
        drive=_VERY_WEAK,
        after_stop=0.2,
    ),
    Symptom(
        id="hi_spins",
        group="heading",
        words="heading indicator spins",
        base=0.01,
        instrument=_HI,
        drive=_VERY_WEAK,
        after_stop=0.2,
    ),
    Symptom(
        id="hi_sluggish",
        group="heading",
        words="heading indicator sluggish or sticky",
        base=0.04,
        instrument=_HI,
        drive=_WEAK,
        after_stop=0.4,
    ),
    Symptom(id="hi_not_settable", group="heading", words="heading indicator cannot be set", base=0.02, instrument=_HI),
    Symptom(
        id="hi_error_after_turns",
        group="heading",
        words="heading indicator off after turns",
        base=0.06,
        instrument=_HI,
        drive=_WEAK,
        after_stop=0.5,
    ),
    Symptom(id="hi_noise", group="heading", words="heading indicator noisy", base=0.04, instrument=_HI),
    Symptom(
        id="hi_coast_short",
        group="heading",
        words="heading indicator stops soon after shutdown",
        base=0.06,
        instrument=_HI,
    ),
    Symptom(
        id="gauge_low_idle",
        group="power",
        words="gauge low at idle, lower than it used to be",
        base=0.08,
        gauge=GaugeSign(side="fallen", at="taxi", width_inhg=0.25),
    ),
    Symptom(
        id="gauge_low_run_up",
        group="power",
        words="gauge low at run-up",
        base=0.03,
        gauge=GaugeSign(side="low", at="run-up"),
    ),
    Symptom(
        id="gauge_low_cruise",
        group="power",
        words="gauge low in cruise",
        base=0.03,
        gauge=GaugeSign(side="low", at="cruise"),
    ),
    Symptom(id="gauge_high", group="power", words="gauge high", base=0.03, gauge=GaugeSign(side="high", at="cruise")),
    Symptom(
        id="gauge_zero",
        group="power",
        words="gauge at zero with the engine running",
        base=0.005,
        gauge=GaugeSign(side="zero", at="cruise"),
    ),
    Symptom(
        id="gauge_fluctuates",
        group="power",
        manners=("slowly", "fast", "with engine speed"),
        words="gauge wanders, or does not repeat after a change of engine speed",
        base=0.06,
    ),
    Symptom(id="gauge_slow_rise", group="power", words="gauge rises slowly after start", base=0.06),
    Symptom(id="gauge_frozen", group="power", words="gauge does not move with engine speed", base=0.02),
    Symptom(id="gauge_off_its_stop", group="power", words="gauge off its stop with the engine off", base=0.03),
    Symptom(id="gauges_differ", group="power", words="panel gauge and test gauge differ", base=0.05),
    Symptom(
        id="readings_differ_up_and_down",
        group="power",
        words="rising and falling sweep differ at the same engine speed",
        base=0.08,
    ),
    Symptom(
        id="lamp_on",
        group="power",
        words="low-pressure lamp on in flight",
        base=0.01,
        gauge=GaugeSign(side="lamp", at="cruise", width_inhg=0.15),
    ),
    Symptom(
        id="lamp_slow_to_go_out",
        group="power",
        words="low-pressure lamp slow to go out as engine speed rises",
        base=0.06,
        gauge=GaugeSign(side="lamp", at="fast taxi", width_inhg=0.3),
    ),
    Symptom(id="lamp_flickers_at_idle", group="power", words="low-pressure lamp flickers at idle", base=0.2),
    Symptom(
        id="stopped_suddenly",
        group="power",
        words="the reading fell to nothing within seconds",
        base=0.005,
    ),
    Symptom(id="hiss_heard", group="power", words="hiss heard behind the panel", base=0.04),
    Symptom(id="oil_at_drain", group="engine bay", words="oil at the drain below the pump", base=0.06, direct=True),
    Symptom(id="oil_on_coupling", group="engine bay", words="oil on the drive coupling", base=0.04, direct=True),
    Symptom(id="soot_thin", group="engine bay", words="thin soot at the pump outlet", base=0.25, direct=True),
    Symptom(id="soot_heavy", group="engine bay", words="heavy soot at the pump outlet", base=0.05, direct=True),
    Symptom(id="grey_dust_on_cowl", group="engine bay", words="grey dust on the cowling", base=0.03, direct=True),
    Symptom(id="pump_hot", group="engine bay", words="pump body hot, blue or brown", base=0.05, direct=True),
    Symptom(id="pump_noise", group="engine bay", words="pump noisy", base=0.03),
    Symptom(id="hose_soft", group="engine bay", words="hose soft", base=0.06, direct=True),
    Symptom(id="hose_cracked", group="engine bay", words="hose cracked", base=0.06, direct=True),
    Symptom(id="hose_kinked", group="engine bay", words="hose kinked or flattened", base=0.03, direct=True),
    Symptom(id="hose_liner_loose", group="engine bay", words="hose liner loose", base=0.02, direct=True),
    Symptom(id="fitting_cracked", group="engine bay", words="fitting cracked", base=0.01, direct=True),
    Symptom(id="clamp_loose", group="engine bay", words="clamp loose", base=0.05, direct=True),
    Symptom(id="nest_in_outlet", group="engine bay", words="nest or dirt in the pump outlet", base=0.01, direct=True),
    Symptom(id="filter_grey", group="filter", words="intake filter grey or brown", base=0.25, direct=True),
    Symptom(id="filter_wet", group="filter", words="intake filter wet", base=0.02, direct=True),
    Symptom(id="filter_missing", group="filter", words="no element in the intake filter", base=0.003, direct=True),
    Symptom(id="foam_crumbs", group="filter", words="crumbs of regulator foam", base=0.05, direct=True),
    Symptom(id="inline_filter_black", group="filter", words="inline filter black", base=0.10, direct=True),
    Symptom(
        id="dust_at_instrument_inlet",
        group="filter",
        words="dark dust at an instrument's inlet",
        base=0.05,
        direct=True,
    ),
    Symptom(
        id="shop_found_dust_in_indicator",
        group="filter",
        words="instrument shop found dark dust round the rotor",
        base=0.03,
        direct=True,
    ),
    Symptom(
        id="ap_wanders",
        group="autopilot",
        words="autopilot wanders",
        base=0.05,
        instrument=_AI,
        drive=_FOLLOWS,
        after_stop=0.5,
    ),
    Symptom(
        id="ap_rolls_off",
        group="autopilot",
        manners=("to the left", "to the right"),
        words="autopilot rolls off",
        base=0.02,
        instrument=_AI,
        drive=_FOLLOWS,
        after_stop=0.6,
    ),
    Symptom(
        id="ap_heading_wanders",
        group="autopilot",
        words="autopilot wanders in heading mode",
        base=0.05,
        instrument=_HI,
        drive=_FOLLOWS,
        after_stop=0.5,
    ),
    Symptom(id="ap_disconnects", group="autopilot", words="autopilot disconnects by itself", base=0.03, instrument=_AI),
    Symptom(
        id="ap_slow_to_level",
        group="autopilot",
        words="autopilot slow to level",
        base=0.05,
        instrument=_AI,
        drive=_FOLLOWS,
        after_stop=0.4,
    ),
    Symptom(
        id="gauge_low_at_altitude",
        group="power",
        words="gauge sags with height, right lower down",
        base=0.05,
        gauge=GaugeSign(side="low", at="cruise", width_inhg=0.3),
    ),
    Symptom(
        id="gauge_high_run_up",
        group="power",
        words="gauge high at run-up",
        base=0.03,
        gauge=GaugeSign(side="high", at="run-up"),
    ),
    Symptom(id="gauge_climbs_with_rpm", group="power", words="gauge climbs with engine speed, no plateau", base=0.03),
    Symptom(id="gauge_below_zero", group="power", words="gauge pulled below its stop, as if backwards", base=0.002),
    Symptom(
        id="gauge_stays_up_at_shutdown", group="power", words="gauge does not fall when the engine stops", base=0.01
    ),
    Symptom(
        id="gyros_strong_with_gauge_low",
        group="power",
        words="gauge low or at zero, yet instruments work and run down as ever",
        base=0.02,
    ),
    Symptom(
        id="good_alone_bad_together",
        group="power",
        words="each instrument right alone, wrong with both connected",
        base=0.01,
    ),
    Symptom(
        id="fault_went_with_instrument",
        group="power",
        words="fault went with the instrument when swapped, and came back with it",
        base=0.01,
        direct=True,
    ),
    Symptom(id="worse_when_hot", group="power", words="right when cold, worse in hot cruise", base=0.05),
    Symptom(id="right_again_once_warm", group="power", words="wrong on a cold start, right once warm", base=0.06),
    Symptom(id="suddenly_worse", group="power", words="suddenly worse, from one flight to the next", base=0.08),
    Symptom(
        id="dip_after_boots_stays", group="power", words="dip after boots or door seal that does not recover", base=0.01
    ),
    Symptom(
        id="one_source_alone_does_not_hold", group="power", words="one source alone does not hold the gauge", base=0.03
    ),
    Symptom(id="standby_gives_nothing", group="power", words="standby source gives nothing", base=0.01),
    Symptom(id="lamp_dark_on_test", group="power", words="low-pressure lamp dark when tested", base=0.02, direct=True),
    Symptom(
        id="turn_needle_sluggish",
        group="heading",
        words="turn needle sluggish",
        base=0.03,
        instrument="turn indicator",
        drive=Drive(threshold_inhg=1.2, width_inhg=0.25, at=_CRUISE),
        after_stop=0.4,
    ),
    Symptom(id="hose_found_off", group="engine bay", words="hose found off its fitting", base=0.002, direct=True),
    Symptom(id="oil_on_belly", group="engine bay", words="oil on the belly behind the engine", base=0.12, direct=True),
    Symptom(id="oil_at_pad_joint", group="engine bay", words="oil at the pump's pad joint", base=0.03, direct=True),
    Symptom(id="vise_marks_on_pump", group="engine bay", words="jaw marks on the pump body", base=0.01, direct=True),
    Symptom(id="cap_missing", group="engine bay", words="a cap or plug not in its place", base=0.004, direct=True),
    Symptom(
        id="dust_track_at_joint", group="engine bay", words="dust track at a joint or crack", base=0.03, direct=True
    ),
    Symptom(id="filter_black", group="filter", words="intake filter black", base=0.02, direct=True),
    Symptom(
        id="filter_tarred", group="filter", words="intake filter brown and sticky with smoke", base=0.02, direct=True
    ),
    Symptom(id="dust_at_filter_face", group="filter", words="dust on the intake filter's face", base=0.20, direct=True),
    Symptom(id="regulator_foam_missing", group="filter", words="no foam on the regulator", base=0.005, direct=True),
)

SYMPTOMS: Final[Mapping[str, Symptom]] = MappingProxyType({symptom.id: symptom for symptom in _SYMPTOMS})


class EventWord(msgspec.Struct, frozen=True, kw_only=True):
    """Something done to the aircraft or that happened to it. The factors stand with the modes (``contexts``)."""

    id: str
    words: str
    fades_h: float | None = None
    """Hours after which it has no weight left; None: it does not fade."""
    changes: tuple[str, ...] = ()
    """What of the aircraft differs from before it: ``pump``, ``setting``, ``gauge``."""
    caution: str = ""


_EVENTS: Final = (
    EventWord(id="pump_changed", words="pump changed", fades_h=300.0, changes=("pump",)),
    EventWord(id="no_line_cleaning_recorded", words="no line cleaning recorded at the pump change", fades_h=300.0),
    EventWord(id="lines_cleaned_recorded", words="lines cleaned at the pump change, and recorded", fades_h=300.0),
    EventWord(
        id="regulator_adjusted",
        words="regulator screw turned",
        changes=("setting",),
        caution="the setting was changed: the plateau cannot be trusted to say what the regulator or the pump does",
    ),
    EventWord(id="regulator_changed", words="regulator changed or cleaned", fades_h=300.0, changes=("setting",)),
    EventWord(id="gyro_changed", words="an air-driven instrument changed or refitted", fades_h=100.0),
    EventWord(id="gauge_changed", words="panel gauge changed", changes=("gauge",)),
    EventWord(id="hose_changed", words="hoses changed", fades_h=300.0),
    EventWord(id="intake_filter_changed", words="intake filter changed", fades_h=300.0),
    EventWord(id="inline_filter_changed", words="inline filter changed", fades_h=200.0),
    EventWord(id="inlet_filter_changed", words="pump inlet filter changed", fades_h=200.0),
    EventWord(id="regulator_filter_changed", words="regulator foam changed", fades_h=200.0),
    EventWord(id="foam_crumbled", words="regulator foam found crumbled"),
    EventWord(id="panel_work", words="work behind the panel", fades_h=100.0),
    EventWord(id="annual_done", words="annual inspection done", fades_h=50.0),
    EventWord(id="wrong_gasket", words="pad gasket cut for several pumps, or none", fades_h=300.0),
    EventWord(id="washed", words="engine washed", fades_h=50.0),
    EventWord(id="rain", words="stood or flew in rain", fades_h=25.0),
    EventWord(id="cold_start", words="cold start"),
    EventWord(id="hot_day", words="hot day"),
    EventWord(id="hot_cruise_only", words="only in hot cruise, right on the ground"),
    EventWord(id="long_parking", words="long parking before", fades_h=25.0),
    EventWord(id="deice_used", words="de-ice boots used", fades_h=10.0),
    EventWord(id="hard_landing", words="hard landing", fades_h=50.0),
    EventWord(id="smoked_in_cabin", words="smoked in"),
    EventWord(
        id="propeller_turned_backwards", words="propeller pulled backwards, or the engine kicked back", fades_h=50.0
    ),
    EventWord(id="standby_never_tested", words="standby source not function tested within a year"),
    EventWord(id="second_gyro_within_90_days", words="second instrument failed within 90 days"),
)

EVENTS: Final[Mapping[str, EventWord]] = MappingProxyType({event.id: event for event in _EVENTS})


def freshness(word: EventWord, hours_ago: float | None) -> float:
    """Weight of an event, 0 to 1: full for the first sixth of its fading time, then straight down to nothing."""
    if word.fades_h is None or hours_ago is None:
        return 1.0
    full = word.fades_h / 6.0
    return float(min(1.0, max(0.0, (word.fades_h - hours_ago) / (word.fades_h - full))))
