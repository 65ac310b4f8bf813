"""Words for what people notice: symptoms (groups A to F of the trade) and events that change what is likely (group G).

A symptom of an instrument hangs on the *solved* drive of that instrument in each row of the bank, so that ten soft
remarks about one weak supply do not count as ten proofs. What does not follow from pressures (soot, oil, a nest) hangs
on the failure modes through their ``signs``. All probabilities are judgement of the authors.

What is remarked with nothing behind it (``base``) has been held against public reports: some hundred remarks, of which
one did not belong (docs/decisions/0011). So rare things may not add up to more than two in a report.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from vanewise.diagnosis.symptom_kinds import Condition, Drive, EventWord, GaugeSign, Symptom
from vanewise.diagnosis.symptoms_felt import FELT
from vanewise.diagnosis.symptoms_of_supply import SUPPLY
from vanewise.diagnosis.symptoms_seen import SEEN

__all__ = [
    "EVENTS",
    "SUPPLY_LOST",
    "SYMPTOMS",
    "Condition",
    "Drive",
    "EventWord",
    "GaugeSign",
    "Symptom",
    "event_name",
    "freshness",
    "word_and_part",
]

SYMPTOMS: Final[Mapping[str, Symptom]] = MappingProxyType({symptom.id: symptom for symptom in (*FELT, *SUPPLY, *SEEN)})

SUPPLY_LOST: Final = frozenset({"stopped_suddenly", "gauge_zero", "both_sources_lost"})
"""Symptoms that say the supply is gone."""

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
    EventWord(id="pump_past_its_hours", words="pump past the hours its data give, or hours unknown"),
    EventWord(
        id="gyro_past_its_hours", words="an air-driven instrument many years or hours in service, or hours unknown"
    ),
    EventWord(id="former_pump_short_life", words="the pump before this one lasted less than 200 h"),
    EventWord(id="old_hoses", words="hoses past their age, or of unknown age"),
    EventWord(id="filter_overdue", words="filter past its hours, or hours unknown"),
    EventWord(id="dusty_fields", words="flown from grass, gravel or dust"),
    EventWord(id="engine_work", words="engine changed, or pump off and on for work on the engine", fades_h=100.0),
    EventWord(id="autopilot_work", words="autopilot worked on", fades_h=100.0),
    EventWord(id="boots_worked_on", words="boots, door seal or their valve worked on", fades_h=100.0),
    EventWord(id="accessory_removed", words="another user of the air taken out", fades_h=100.0),
    EventWord(id="second_gyro_within_90_days", words="second instrument failed within 90 days"),
)

EVENTS: Final[Mapping[str, EventWord]] = MappingProxyType({event.id: event for event in _EVENTS})


def event_name(kind: str, about: str = "") -> str:
    """What an event is called among the evidence: its word, with the part it is about where it is about one."""
    return f"{kind}@{about}" if about else kind


def word_and_part(name: str) -> tuple[str, str]:
    """Word and part of an :func:`event_name`; no part where it is about none."""
    kind, _, about = name.partition("@")
    return kind, about


def freshness(word: EventWord, hours_ago: float | None) -> float:
    """Weight of an event, 0 to 1: full for the first sixth of its fading time, then straight down to nothing."""
    if word.fades_h is None or hours_ago is None:
        return 1.0
    full = word.fades_h / 6.0
    return float(min(1.0, max(0.0, (word.fades_h - hours_ago) / (word.fades_h - full))))
