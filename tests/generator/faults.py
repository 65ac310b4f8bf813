"""What can be wrong in a generated case: how often, how badly, and which numbers of the network it moves.

``weight`` is how common a fault is against the others (judgement, in the proportions in which mechanics speak of them);
``after`` multiplies it when such work or weather went before. A fault's numbers are drawn from ``draw``; a key may hold
``{pump}``, ``{regulator}``, ``{gyro}``, ``{line}``, ``{filter}``, ``{inline}``, ``{inlet}``, ``{valve}`` or
``{manifold}``, filled in from the aircraft.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Final

import numpy as np

Generator = np.random.Generator
Draw = Callable[[Generator], Mapping[str, float]]


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing that can be wrong. ``where`` says which part or line it sits on; ``by_speed`` changes with rpm."""

    name: str
    weight: float
    where: str
    """pump, regulator, gyro, attitude, suction line, gyro line, filter, inline, inlet, valve, manifold, gauge, lamp or
    nowhere"""
    draw: Draw
    group: str
    """What a mechanic would repair: the answer counts as right when it names this."""
    duties: tuple[str, ...] = ("suction", "pressure")
    after: Mapping[str, float] = field(default_factory=dict)
    noticed: Mapping[str, float] = field(default_factory=dict)
    """Symptom -> chance that a person who looks or listens notices it, apart from what follows from pressures."""
    inside: bool = True
    """False: nothing the program knows by name."""
    sudden: bool = False
    by_speed: Callable[[float, float, Mapping[str, float]], Mapping[str, float]] | None = None
    """(rpm, step of the sweep from 0 to 1, drawn) -> numbers at that speed, for faults that no one state describes."""


def _times(key: str, median: float, spread: float) -> Draw:
    return lambda g: {key: float(np.exp(np.log(median) + spread * g.standard_normal()))}


def _between(key: str, low: float, high: float) -> Draw:
    return lambda g: {key: float(g.uniform(low, high))}


def _fixed(**values: float) -> Draw:
    return lambda g: {key.replace("__", "."): value for key, value in values.items()}


def _nothing(g: Generator) -> Mapping[str, float]:
    return {}


def _wrong_hand(g: Generator) -> Mapping[str, float]:
    """Vanes that lean the wrong way stay in their slots: no air at all, or little past wide gaps."""
    if g.random() < 0.4:
        return {"{pump}.stopped": 1.0}
    return {"{pump}.slip": float(np.exp(np.log(9.0) + 0.4 * g.standard_normal()))}


def _tach(rpm: float, step: float, drawn: Mapping[str, float]) -> Mapping[str, float]:
    return {"@rpm": rpm * drawn["@tach"]}


def _porous(rpm: float, step: float, drawn: Mapping[str, float]) -> Mapping[str, float]:
    return {"{line}.leak": drawn["@area"] * step}


def _folding(rpm: float, step: float, drawn: Mapping[str, float]) -> Mapping[str, float]:
    return {"{filter}.loading": 1.0 + drawn["@fold"] * (rpm / 2400.0) ** 4}


def _flapping(rpm: float, step: float, drawn: Mapping[str, float]) -> Mapping[str, float]:
    """A loose liner is drawn across the bore as the flow grows."""
    return {"{line}.open_fraction": 1.0 - (1.0 - drawn["@left"]) * min(rpm / 2100.0, 1.0) ** 2}


def _thawing(rpm: float, step: float, drawn: Mapping[str, float]) -> Mapping[str, float]:
    """Water or ice in a line: worst at the start, nearly gone at the end of a warm run."""
    return {"{line}.open_fraction": drawn["@left"] + (0.9 - drawn["@left"]) * step**2}


def _melting(rpm: float, step: float, drawn: Mapping[str, float]) -> Mapping[str, float]:
    """Ice under the regulator's seat, gone at the end of a warm run."""
    return {"{regulator}.held_open": drawn["@ice"] * (1.0 - step)}


def _grounding(rpm: float, step: float, drawn: Mapping[str, float]) -> Mapping[str, float]:
    return {"@offset": drawn["@sag"] if rpm > 1300.0 else 0.0}


FAULTS: Final[tuple[Fault, ...]] = (
    # Pump and its drive.
    Fault(
        "pump worn",
        10,
        "pump",
        _times("{pump}.slip", 2.8, 0.55),
        "pump",
        after={"many hours": 2.5, "pump changed": 0.15},
        noticed={"soot_thin": 0.5, "soot_heavy": 0.2, "lamp_flickers_at_idle": 0.4},
    ),
    Fault(
        "pump worn, its carbon in the inline filter",
        4,
        "pump",
        lambda g: {
            "{pump}.slip": float(np.exp(np.log(2.6) + 0.5 * g.standard_normal())),
            "{inline}.loading": float(np.exp(np.log(4.0) + 0.6 * g.standard_normal())),
        },
        "pump",
        duties=("pressure",),
        after={"many hours": 2.5, "pump changed": 0.15, "filter changed": 0.3},
        noticed={"inline_filter_black": 0.6, "soot_thin": 0.3, "lamp_flickers_at_idle": 0.3},
    ),
    Fault(
        "coupling sheared",
        4,
        "pump",
        _fixed(**{"{pump}__stopped": 1.0}),
        "pump",
        after={"cold start": 2, "long parking": 2},
        noticed={"stopped_suddenly": 0.8},
        sudden=True,
    ),
    Fault(
        "pump jammed by old carbon",
        1.5,
        "pump",
        _fixed(**{"{pump}__stopped": 1.0}),
        "pump",
        after={"pump changed": 9},
        noticed={"stopped_suddenly": 0.8, "soot_heavy": 0.6},
        sudden=True,
    ),
    Fault(
        "oil in the pump",
        4,
        "pump",
        _times("{pump}.slip", 2.2, 0.45),
        "pump",
        noticed={"oil_at_drain": 0.7, "oil_on_coupling": 0.4, "pump_hot": 0.15},
    ),
    Fault(
        "outlet blocked",
        2,
        "pump",
        _between("{pump}.outlet_blocked", 0.8, 0.97),
        "pump outlet",
        after={"long parking": 6},
        noticed={"pump_hot": 0.5, "nest_in_outlet": 0.3},
    ),
    Fault(
        "drive pad's oil seal leaks",
        3,
        "pump",
        _nothing,
        "pad seal",
        noticed={"oil_on_belly": 0.55, "oil_at_drain": 0.6, "oil_on_coupling": 0.15},
    ),
    Fault(
        "pump overheated",
        1,
        "pump",
        _times("{pump}.slip", 1.9, 0.35),
        "pump",
        after={"hot cruise only": 3},
        noticed={"pump_hot": 0.65, "pump_noise": 0.1, "soot_thin": 0.3},
    ),
    Fault(
        "pump wetted in a wash, seized",
        0.7,
        "pump",
        _fixed(**{"{pump}__stopped": 1.0}),
        "pump",
        after={"cold start": 1.5},
        noticed={"stopped_suddenly": 0.7, "water_in_line": 0.2},
        sudden=True,
    ),
    Fault(
        "sealant drawn into the pump",
        0.4,
        "pump",
        _fixed(**{"{pump}__stopped": 1.0}),
        "pump",
        after={"pump changed": 3, "gyro changed": 2, "panel work": 2},
        noticed={"stopped_suddenly": 0.8},
        sudden=True,
    ),
    Fault(
        "pump body strained in a vice",
        0.3,
        "pump",
        _times("{pump}.slip", 2.0, 0.35),
        "pump",
        after={"pump changed": 6},
        noticed={"pump_hot": 0.3, "pump_noise": 0.3},
    ),
    Fault(
        "pump of the wrong hand, broken",
        0.2,
        "pump",
        _fixed(**{"{pump}__stopped": 1.0}),
        "pump",
        after={"pump changed": 6},
        noticed={"stopped_suddenly": 0.8, "soot_heavy": 0.4},
        sudden=True,
    ),
    Fault(
        "pump of the wrong hand, weak or dead from the first start",
        0.2,
        "pump",
        _wrong_hand,
        "pump",
        after={"pump changed": 12},
        noticed={"pump_noise": 0.2, "pump_hot": 0.15},
    ),
    # Lines.
    Fault(
        "leak",
        12,
        "gyro line",
        _times("{line}.leak", 2.5, 0.7),
        "leak",
        after={"gyro changed": 5, "panel work": 3},
        noticed={"hiss_heard": 0.25, "hose_cracked": 0.15, "clamp_loose": 0.15},
    ),
    Fault(
        "hose off",
        1.5,
        "gyro line",
        _fixed(**{"{line}__off": 1.0}),
        "leak",
        after={"gyro changed": 4, "panel work": 3},
        noticed={"hiss_heard": 0.6, "stopped_suddenly": 0.5},
        sudden=True,
    ),
    Fault(
        "hose collapsed at the pump",
        4,
        "suction line",
        _between("{line}.open_fraction", 0.05, 0.3),
        "restriction",
        after={"hot cruise only": 6},
        noticed={"pump_hot": 0.4, "hose_soft": 0.4, "hose_kinked": 0.3},
    ),
    Fault(
        "instrument line pinched",
        3,
        "gyro line",
        _between("{line}.open_fraction", 0.08, 0.35),
        "restriction",
        after={"panel work": 4, "gyro changed": 3},
        noticed={"hose_kinked": 0.15},
    ),
    Fault(
        "fitting cracked at the pump",
        1,
        "suction line",
        _times("{line}.leak", 3.0, 0.6),
        "leak",
        after={"pump changed": 4},
        noticed={"fitting_cracked": 0.3, "clamp_loose": 0.1},
    ),
    Fault(
        "hidden tube cracked",
        1,
        "gyro line",
        _times("{line}.leak", 9.0, 0.6),
        "leak",
        after={"gyro changed": 3, "panel work": 3},
        noticed={"hiss_heard": 0.35},
    ),
    Fault(
        "port left open at a tee",
        1,
        "manifold",
        _times("{manifold}.leak", 7.0, 0.6),
        "leak",
        after={"panel work": 4, "gyro changed": 2},
        noticed={"hiss_heard": 0.3},
    ),
    Fault(
        "hose liner loose",
        2.5,
        "suction line",
        _between("@left", 0.06, 0.35),
        "restriction",
        after={"pump changed": 1.5},
        noticed={"gauge_fluctuates": 0.55, "hose_liner_loose": 0.2, "pump_hot": 0.25},
        by_speed=_flapping,
    ),
    Fault(
        "water or ice in a line",
        1,
        "gyro line",
        _between("@left", 0.02, 0.12),
        "water",
        after={"cold start": 5, "long parking": 2},
        noticed={"gauge_slow_rise": 0.5, "ai_late_erect_cold": 0.4, "water_in_line": 0.2},
        by_speed=_thawing,
    ),
    Fault(
        "ice at the regulator",
        0.5,
        "regulator",
        lambda g: {"@ice": float(np.exp(np.log(8.0) + 0.5 * g.standard_normal()))},
        "water",
        after={"cold start": 5, "long parking": 2},
        noticed={"gauge_slow_rise": 0.5, "ai_late_erect_cold": 0.3, "water_in_line": 0.1},
        by_speed=_melting,
    ),
    # Filters.
    Fault(
        "intake filter clogged",
        10,
        "filter",
        _times("{filter}.loading", 9.0, 0.8),
        "filter",
        duties=("suction",),
        after={"filter changed": 0.1, "smoked in": 2},
        noticed={"filter_grey": 0.6},
    ),
    Fault(
        "inline filter clogged",
        9,
        "inline",
        _times("{inline}.loading", 7.0, 0.7),
        "filter",
        duties=("pressure",),
        after={"filter changed": 0.1},
        noticed={"inline_filter_black": 0.35},
    ),
    Fault(
        "pump inlet filter clogged",
        3,
        "inlet",
        _times("{inlet}.loading", 14.0, 0.7),
        "filter",
        duties=("pressure",),
        after={"filter changed": 0.2},
        noticed={"pump_hot": 0.2},
    ),
    Fault(
        "intake filter wet",
        0.7,
        "filter",
        _times("{filter}.loading", 12.0, 0.6),
        "filter",
        duties=("suction",),
        after={"cold start": 1.5, "long parking": 2},
        noticed={"filter_wet": 0.5},
    ),
    Fault(
        "intake filter tarred",
        0.5,
        "filter",
        _times("{filter}.loading", 16.0, 0.6),
        "filter",
        duties=("suction",),
        after={"smoked in": 15, "filter changed": 0.2},
        noticed={"filter_black": 0.6},
    ),
    Fault(
        "intake filter missing",
        0.5,
        "filter",
        _fixed(**{"{filter}__missing": 1.0}),
        "filter",
        duties=("suction",),
        after={"pump changed": 3, "gyro changed": 2, "panel work": 2, "filter changed": 2},
        noticed={"filter_missing": 0.35, "dust_at_instrument_inlet": 0.35},
    ),
    Fault(
        "intake filter's element displaced",
        0.7,
        "filter",
        _between("{filter}.bypass_mm2", 30.0, 200.0),
        "filter",
        duties=("suction",),
        after={"filter changed": 5},
        noticed={"dust_at_instrument_inlet": 0.4},
    ),
    Fault(
        "inline filter missing or burst",
        0.6,
        "inline",
        _fixed(**{"{inline}__missing": 1.0}),
        "filter",
        duties=("pressure",),
        after={"pump changed": 3, "gyro changed": 2, "filter changed": 2},
        noticed={"filter_missing": 0.2, "dust_at_instrument_inlet": 0.5},
    ),
    Fault(
        "pump inlet filter missing",
        0.4,
        "inlet",
        _fixed(**{"{inlet}__missing": 1.0}),
        "filter",
        duties=("pressure",),
        after={"pump changed": 3, "filter changed": 2},
        noticed={"filter_missing": 0.3, "soot_heavy": 0.1},
    ),
    # Regulator.
    Fault(
        "regulator seat held open",
        8,
        "regulator",
        _times("{regulator}.held_open", 3.0, 0.6),
        "regulator",
        after={"pump changed": 2},
        noticed={"gauge_fluctuates": 0.55, "readings_differ_up_and_down": 0.4},
    ),
    Fault(
        "regulator set low",
        4,
        "regulator",
        _between("{regulator}.set_shift_inhg", -1.6, -0.5),
        "regulator",
        after={"regulator adjusted": 4},
    ),
    Fault(
        "regulator set high",
        2,
        "regulator",
        _between("{regulator}.set_shift_inhg", 0.5, 1.6),
        "regulator",
        after={"regulator adjusted": 6},
    ),
    Fault(
        "regulator filter clogged",
        5,
        "regulator",
        _times("{regulator}.filter_loading", 40.0, 0.8),
        "regulator filter",
        noticed={"foam_crumbs": 0.35},
    ),
    Fault("regulator stuck shut", 0.7, "regulator", _fixed(**{"{regulator}__stuck_shut": 1.0}), "regulator"),
    Fault(
        "regulator stuck open",
        0.7,
        "regulator",
        _fixed(**{"{regulator}__stuck_open": 1.0}),
        "regulator",
        after={"pump changed": 2},
    ),
    Fault(
        "regulator filter missing",
        0.7,
        "regulator",
        _between("{regulator}.filter_loading", 0.1, 0.2),
        "regulator filter",
        after={"pump changed": 3, "gyro changed": 2, "regulator adjusted": 4},
        noticed={"gauge_fluctuates": 0.15},
    ),
    # Instruments.
    Fault(
        "instrument bearings worn",
        14,
        "gyro",
        _nothing,
        "instrument",
        after={"cold start": 1.5},
        noticed={
            "@noise": 0.5,
            "@coast_short": 0.45,
            "@slow": 0.5,
            "@drifts": 0.55,
            "@after_turn": 0.25,
            "@unsteady": 0.15,
            "@pitch": 0.12,
        },
    ),
    Fault(
        "instrument case leaks",
        4,
        "gyro",
        _times("{gyro}.case_leak", 4.0, 0.6),
        "instrument",
        after={"gyro changed": 3},
        noticed={"hiss_heard": 0.15},
    ),
    Fault(
        "instrument jets choked",
        3,
        "gyro",
        _between("{gyro}.jet_fraction", 0.3, 0.7),
        "instrument",
        noticed={"dust_at_instrument_inlet": 0.4, "@slow": 0.6, "@drifts": 0.5},
    ),
    Fault(
        "instrument dirty inside",
        4,
        "gyro",
        _between("{gyro}.jet_fraction", 0.75, 1.0),
        "instrument",
        after={"smoked in": 2, "pump changed": 1.3},
        noticed={
            "dust_at_instrument_inlet": 0.3,
            "@slow": 0.5,
            "@drifts": 0.55,
            "@coast_short": 0.3,
            "@noise": 0.15,
            "@after_turn": 0.2,
        },
    ),
    # Left so by whoever had the instrument out.
    Fault(
        "instrument not level in its panel",
        1.5,
        "attitude",
        _nothing,
        "mounting",
        after={"gyro changed": 8, "panel work": 6},
        # A lean, a pitch error or both, the same from start to shutdown; trembling only where it is loose.
        noticed={"ai_leans": 0.65, "ai_pitch_error": 0.4, "ai_jitters": 0.25, "ap_rolls_off": 0.4, "ap_wanders": 0.1},
    ),
    Fault(
        "plug left in an instrument's port",
        0.5,
        "gyro",
        _between("{gyro}.capped", 0.96, 1.0),  # a plug in a port seldom seals quite
        "line",
        after={"gyro changed": 12, "panel work": 5},
        noticed={"@coast_short": 0.25},
    ),
    Fault(
        "an instrument's hoses exchanged",
        0.3,
        "gyro",
        _between("{gyro}.jet_fraction", 0.85, 1.05),  # a jet passes about as much backwards
        "misrouting",
        after={"gyro changed": 12, "panel work": 6},
        # The gauge's tees are in the hoses and read on; the air leaves by the jets and hardly turns the rotor.
        noticed={"@slow": 0.6, "@drifts": 0.5, "@tumbles": 0.5, "@coast_short": 0.35, "@after_turn": 0.15},
    ),
    # Indication.
    Fault(
        "gauge reads wrong", 7, "gauge", lambda g: {"@bias": float(g.choice([-1, 1]) * g.uniform(0.5, 1.5))}, "gauge"
    ),
    Fault(
        "gauge sticks",
        1.5,
        "gauge",
        lambda g: {"@frozen": float(g.uniform(3.5, 5.0))},
        "gauge",
        noticed={"gauge_frozen": 0.6, "gauge_off_its_stop": 0.8},
    ),
    Fault("lamp switch wrong", 1.5, "lamp", lambda g: {"@trip": float(g.uniform(0.7, 1.4))}, "lamp"),
    Fault(
        "gauge lines crossed",
        0.7,
        "gauge",
        _fixed(**{"@frozen": 0.0}),
        "gauge lines",
        after={"gyro changed": 4, "panel work": 5},
        noticed={"gauge_off_its_stop": 0.25},
    ),
    # Twin pumps.
    Fault("check valve stuck open", 4, "valve", _between("{valve}.stuck_open", 0.4, 1.0), "check valve"),
    Fault("check valve leaks", 2, "valve", _between("{valve}.stuck_open", 0.02, 0.3), "check valve"),
    Fault("check valve stuck shut", 1.5, "valve", _fixed(**{"{valve}__stuck_shut": 1.0}), "check valve"),
    # Nothing at all: what sound systems do is taken for a fault. The weight counts aircraft; most are never reported.
    Fault(
        "nothing wrong",
        10.5,
        "nowhere",
        _nothing,
        "nothing",
        after={"cold start": 1.5, "gyro changed": 1.3, "panel work": 1.2, "pump changed": 1.2},
        noticed={
            "hi_drifts": 0.2,  # what the earth's turning and the flight itself explain
            "hi_error_after_turns": 0.1,
            "ai_precesses_after_turn": 0.12,
            "ai_slow_erect": 0.08,
            "ai_late_erect_cold": 0.1,
            "ai_leans": 0.05,  # seen from one side, or in a long turn on the ground
            "ai_pitch_error": 0.04,
            "lamp_flickers_at_idle": 0.3,
            "lamp_slow_to_go_out": 0.05,
            "gauge_low_idle": 0.15,
            "gauge_fluctuates": 0.04,
            "gauge_slow_rise": 0.04,
            "soot_thin": 0.25,
            "filter_grey": 0.15,
            "ai_noise": 0.06,  # a sound gyro hums, and is heard when the engine stops
            "hi_noise": 0.05,
            "pump_hot": 0.04,
            "ap_heading_wanders": 0.05,
            "ap_slow_to_level": 0.04,
        },
    ),
    # Nothing the program knows by name.
    Fault("tachometer wrong", 1, "nowhere", _between("@tach", 0.72, 0.86), "none", inside=False, by_speed=_tach),
    Fault(
        "hose porous once warm", 1, "gyro line", _between("@area", 4.0, 10.0), "none", inside=False, by_speed=_porous
    ),
    Fault(
        "filter folds with flow",
        1,
        "filter",
        _between("@fold", 15.0, 60.0),
        "none",
        duties=("suction",),
        inside=False,
        by_speed=_folding,
    ),
    Fault(
        "electrical ground of the gauge",
        1,
        "gauge",
        lambda g: {"@sag": float(g.choice([-1, 1]) * g.uniform(0.8, 1.8))},
        "none",
        inside=False,
        by_speed=_grounding,
    ),
)
"""The frequencies follow how mechanics rank these faults; no published count of them was found."""

CONTEXTS: Final[Mapping[str, float]] = {
    "pump changed": 0.14,
    "gyro changed": 0.10,
    "panel work": 0.08,
    "regulator adjusted": 0.07,
    "filter changed": 0.12,
    "cold start": 0.10,
    "long parking": 0.06,
    "hot cruise only": 0.05,
    "smoked in": 0.03,
    "many hours": 0.35,
}
"""How often such a thing went before the report (judgement)."""
