"""Checks C01 to C24 of the trade, and a few more, as data: minutes, access, outcomes, and what each mode would show.

Outcomes stand from mild to grave. The outcome of several modes at once is the gravest any of them would give (their
cumulative probabilities multiply); a check marked ``by_source`` shows the source's own trace instead. Probabilities
and minutes are judgement of the authors; a row of two tuples goes from mild to grave with the mode's severity. Checks
of the kinds other than ``table`` are answered by the solver, not by a table.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from types import MappingProxyType
from typing import Any, Final, Literal

import msgspec

from vanewise.provenance import JUDGEMENT, Source
from vanewise.work.types import Who

Row = tuple[float, ...]
Kind = Literal["table", "cover test", "suction flow", "sweep", "gauge across instrument", "filter drop", "capped sweep"]

ACCESS_MINUTES: Final[Mapping[str, float]] = MappingProxyType(
    {"cowl off": 15.0, "panel down": 20.0, "seat out": 10.0, "engine warm": 8.0, "pump off": 60.0}
)
"""Minutes to get at things, counted once for all checks that need them (judgement)."""


class Outcome(msgspec.Struct, frozen=True):
    id: str
    words: str


class Check(msgspec.Struct, frozen=True, kw_only=True):
    """One thing a person can look at, measure or try."""

    id: str
    code: str
    name: str
    minutes: float
    """Hands-on minutes after access."""
    access: tuple[str, ...] = ()
    tools: tuple[str, ...] = ()
    who: Who = "mechanic"
    kind: Kind = "table"
    outcomes: tuple[Outcome, ...] = ()
    background: Row = ()
    """Probabilities of the outcomes with nothing wrong that would show here."""
    table: Mapping[str, tuple[Row, ...]] = {}
    """Mode -> one row, or two from mild to grave."""
    by_source: bool = False
    needs_part: str = ""
    """Kind of part the aircraft must have (``lamp`` for the annunciator)."""
    at_instrument: bool = False
    """True when it is done on one instrument at a time."""
    needs_running_pump: bool = False
    confirms: Mapping[str, str] = {}
    """Outcome -> mode that is seen directly (grade 3)."""
    harmless: bool = True
    """May be undone and done again to prove a cause both ways."""
    preconditions: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    method: str = ""
    elsewhere: bool = False
    """True when the part leaves the aircraft (a shop's days, not minutes)."""
    source: Source = JUDGEMENT


_ENGINE = (
    "Brakes on, chocks in, area round the propeller clear, helper at the controls, loose items away.",
    "Gyros go on spinning for about 15 minutes after the engine stops: do not move or tilt the aircraft.",
)
_PROP = (
    "Magnetos off and grounded, key out, mixture cut off, chocks in. Treat the propeller as live: any turn may fire.",
    "Turn only as the aircraft's own manual permits; do not force.",
)
_SUCTION = (
    "Limit the source to 6 inHg. Clean air only.",
    "Gyros spin: do not move the aircraft until they have stopped, about 15 minutes.",
)
_AIR = (
    "Never blow into gyros, gauge or any port with one of them at the other end.",
    "Goggles on; relief valve fitted; not above 5 psi unless the hose data say so.",
)
_HOT = ("Let pump and exhaust cool before reaching in.",)


def _check(
    check_id: str,
    code: str,
    name: str,
    minutes: float,
    table: Mapping[str, Sequence[Any]] | None = None,
    **rest: object,
) -> Check:
    """A check as written below, where a table row may be plain numbers."""
    rest["table"] = {mode: row if isinstance(row[0], list) else [row] for mode, row in (table or {}).items()}
    return msgspec.convert({"id": check_id, "code": code, "name": name, "minutes": minutes, **rest}, Check)


def _outcomes(**words: str) -> list[dict[str, str]]:
    return [{"id": outcome, "words": text} for outcome, text in words.items()]


_CHECKS: Final = (
    _check(
        "records_look",
        "C01",
        "read the records of the last 100 h: pump, hoses, filters, wash, panel work",
        10,
        who="owner, where the local rules allow",
        tools=["log books"],
        outcomes=_outcomes(
            nothing="nothing done lately that bears on it",
            other_work="work on the system, lines cleaned or not touched",
            no_line_cleaning="pump changed and no line cleaning recorded",
        ),
        background=[0.70, 0.22, 0.08],
        table={
            "debris_left_in_lines": [0.05, 0.10, 0.85],
            "leak": [0.50, 0.42, 0.08],
            "pump_damaged_when_fitted": [0.10, 0.45, 0.45],
            "solvent_or_water_in_pump": [0.30, 0.62, 0.08],
        },
        by_source=True,
        method="List every event of the last 100 h with its page.",
    ),
    _check(
        "engine_off_gauge",
        "C02",
        "engine off: is the pointer on its stop, and did it fall at shutdown",
        2,
        who="owner, where the local rules allow",
        outcomes=_outcomes(
            on_stop="on its stop, fell within seconds", off_stop="off its stop", does_not_fall="does not fall"
        ),
        background=[0.955, 0.035, 0.010],
        table={"gauge_in_error": [0.62, 0.28, 0.10]},
        method="Watch the pointer bleed down after shutdown, then read it at rest.",
    ),
    _check(
        "coast_down_listening",
        "C03",
        "listen to an instrument running down after shutdown",
        10,
        who="owner, where the local rules allow",
        at_instrument=True,
        needs_running_pump=True,
        access=["engine warm"],
        tools=["stopwatch"],
        outcomes=_outcomes(long_and_quiet="long and quiet", short_or_noisy="short or noisy"),
        background=[0.90, 0.10],
        table={
            "indicator_bearing": [[0.65, 0.35], [0.12, 0.88]],
            "indicator_contaminated": [[0.80, 0.20], [0.35, 0.65]],
        },
        cautions=list(_ENGINE),
        method="Time from shutdown to silence, instrument by instrument; compare with its own earlier time.",
    ),
    _check(
        "outlet_look",
        "C04",
        "look into the pump outlet: soot, chips, a nest",
        5,
        access=["cowl off"],
        tools=["torch"],
        outcomes=_outcomes(
            clean="clean", thin_soot="thin soot", heavy_soot="heavy soot", chips="chips", blocked="blocked"
        ),
        background=[0.70, 0.245, 0.045, 0.005, 0.005],
        table={
            "worn_vanes": [[0.40, 0.42, 0.17, 0.01, 0.0], [0.10, 0.35, 0.50, 0.05, 0.0]],
            "coupling_sheared": [0.35, 0.30, 0.22, 0.13, 0.0],
            "debris_left_in_lines": [0.40, 0.30, 0.22, 0.08, 0.0],
            "pump_overheated": [0.30, 0.35, 0.33, 0.02, 0.0],
            "pump_outlet_blocked": [0.08, 0.02, 0.0, 0.0, 0.90],
        },
        confirms={"blocked": "pump_outlet_blocked"},
        cautions=list(_HOT),
        method="After shutdown, hand away from the propeller.",
    ),
    _check(
        "drain_look",
        "C05",
        "look at drain and pad for oil",
        5,
        access=["cowl off"],
        tools=["rag", "mirror"],
        outcomes=_outcomes(dry="dry", trace="a trace of oil", wet="wet with oil"),
        background=[0.86, 0.115, 0.025],
        table={"oil_in_pump": [0.22, 0.33, 0.45], "pad_seal_leak": [0.04, 0.22, 0.74]},
        confirms={"wet": "pad_seal_leak"},
        cautions=list(_HOT),
        method="Wipe clean, run, look again.",
    ),
    _check(
        "sweep",
        "C06",
        "sweep of engine speed with the panel gauge, up and down",
        15,
        kind="sweep",
        access=["engine warm"],
        who="owner, where the local rules allow",
        needs_running_pump=True,
        cautions=list(_ENGINE),
        method="Warm oil; 700, 1000, 1200, 1500, 1800, 2100 rpm and cruise; hold 15 s each; log rpm, reading, lamp.",
    ),
    _check(
        "test_gauge",
        "C07",
        "compare the panel gauge with a calibrated test gauge at a tee",
        20,
        access=["panel down", "engine warm"],
        tools=["calibrated differential gauge", "tee"],
        needs_running_pump=True,
        outcomes=_outcomes(agrees="agree within their errors", differs="differ"),
        background=[0.955, 0.045],
        table={"gauge_in_error": [0.05, 0.95]},
        confirms={"differs": "gauge_in_error"},
        cautions=[*_ENGINE, "Leak check the tee after it comes out."],
        method="Tee at the panel gauge's own line; log both through a sweep.",
    ),
    _check(
        "test_gauge_across_instrument",
        "C07",
        "test gauge across one instrument, beside the panel gauge",
        20,
        kind="gauge across instrument",
        at_instrument=True,
        access=["panel down", "engine warm"],
        tools=["calibrated differential gauge", "tees"],
        needs_running_pump=True,
        cautions=[*_ENGINE, "Leak check every opened joint afterwards."],
        method="Two gauges across different spans measure the flow between them.",
    ),
    _check(
        "intake_filter_look",
        "C08",
        "take out the intake filter and look",
        10,
        needs_part="intake filter",
        access=["panel down"],
        tools=["torch", "tray"],
        who="owner, where the local rules allow",
        outcomes=_outcomes(light="clean or lightly dusty", loaded="loaded", wet="wet", missing="no element"),
        background=[0.75, 0.235, 0.012, 0.003],
        table={
            "intake_filter_loaded": [[0.30, 0.66, 0.04, 0.0], [0.02, 0.93, 0.05, 0.0]],
            "intake_filter_missing": [0.0, 0.0, 0.0, 1.0],
        },
        confirms={"missing": "intake_filter_missing"},
        cautions=["Never run a gyro without its filter. No blowing. Gloves and mask when cutting one open."],
        method="Cut the old one open: brown tar is smoke; black means carbon from somewhere.",
    ),
    _check(
        "filter_drop",
        "C08",
        "measure the drop across a filter",
        20,
        kind="filter drop",
        access=["panel down", "engine warm"],
        tools=["differential gauge", "tees"],
        needs_running_pump=True,
        cautions=list(_ENGINE),
        method="At cruise speed; compare with a new element.",
    ),
    _check(
        "regulator_filter_off",
        "C09",
        "slide the foam off the regulator for a few seconds",
        10,
        needs_part="regulator",
        access=["panel down", "engine warm"],
        needs_running_pump=True,
        outcomes=_outcomes(unchanged="reading unchanged", falls="reading falls to its setting"),
        background=[0.96, 0.04],
        table={"regulator_filter_clogged": [[0.30, 0.70], [0.02, 0.98]]},
        confirms={"falls": "regulator_filter_clogged"},
        cautions=[*_ENGINE, "Clean air only; keep dust away; refit the foam."],
        method="Ground run at cruise speed, foam off for seconds.",
    ),
    _check(
        "hose_squeeze",
        "C10",
        "bend, twist and squeeze every hose",
        20,
        access=["cowl off"],
        tools=["mirror", "light"],
        outcomes=_outcomes(sound="sound", soft_or_cracked="soft or cracked", flat_or_off="flattened, kinked or off"),
        background=[0.82, 0.165, 0.015],
        table={
            "hose_collapsed": [0.15, 0.30, 0.55],
            "leak": [0.62, 0.36, 0.02],
            "hose_off": [0.01, 0.04, 0.95],
        },
        cautions=[*_HOT, "A cracked hose is not used again."],
        method="Hot and cold; look at the ends.",
    ),
    _check(
        "wear_port",
        "C11",
        "read every vane at the wear port",
        20,
        access=["cowl off"],
        tools=["port plug tool", "light", "stylus"],
        outcomes=_outcomes(within="every vane within its limit", near="one near its limit", past="one past its limit"),
        background=[0.86, 0.125, 0.015],
        table={"worn_vanes": [[0.38, 0.40, 0.22], [0.04, 0.12, 0.84]]},
        confirms={"past": "worn_vanes"},
        preconditions=["the pump has a wear port"],
        cautions=list(_PROP),
        method="Turn each slot to the port; log all vanes, keep the shortest.",
    ),
    _check(
        "coupling_turn",
        "C12",
        "pump off: is the coupling whole, does the shaft turn smoothly",
        10,
        access=["cowl off", "pump off"],
        outcomes=_outcomes(
            turns_smoothly="whole, turns smoothly", drags="whole, drags", locked_or_parted="parted, or shaft locked"
        ),
        background=[0.95, 0.045, 0.005],
        table={
            "coupling_sheared": [0.01, 0.02, 0.97],
            "oil_in_pump": [0.45, 0.50, 0.05],
            "solvent_or_water_in_pump": [0.45, 0.50, 0.05],
            "worn_vanes": [0.80, 0.19, 0.01],
            "pump_damaged_when_fitted": [0.40, 0.58, 0.02],
        },
        confirms={"locked_or_parted": "coupling_sheared"},
        cautions=list(_PROP),
        method="Turn by the fingers: smooth, no grit.",
    ),
    _check(
        "isolate_gyro",
        "C13",
        "cap one instrument and sweep again",
        30,
        kind="capped sweep",
        at_instrument=True,
        access=["panel down", "engine warm"],
        tools=["clean caps"],
        needs_running_pump=True,
        cautions=[*_ENGINE, "Instrument not usable until restored and leak checked: ground only, log it."],
        method="A sound instrument capped makes the reading rise a little; a leaking one more.",
    ),
    _check(
        "section_suction",
        "C14",
        "steady suction with a flow meter, section by section of the lines",
        50,
        access=["panel down", "cowl off"],
        tools=["suction source", "flow meter", "gauge", "caps"],
        outcomes=_outcomes(tight="tight", leaks="a section leaks"),
        background=[0.97, 0.03],
        table={"leak": [[0.12, 0.88], [0.01, 0.99]], "hose_off": [0.01, 0.99]},
        confirms={"leaks": "leak"},
        cautions=[*_SUCTION, "Instruments and gauge out of the blanked section unless the shop agrees."],
        method="Blank a section, hold 5 inHg, read the flow; a leak that matters is about 0.3 to 0.5 cfm.",
    ),
    _check(
        "shop_air",
        "C15",
        "regulated shop air and soap film, plumbing only",
        40,
        access=["panel down", "cowl off"],
        tools=["pressure regulator", "relief valve", "gauge", "soap film", "caps"],
        outcomes=_outcomes(dry="no bubbles", bubbles="bubbles"),
        background=[0.975, 0.025],
        table={"leak": [[0.25, 0.75], [0.04, 0.96]]},
        confirms={"bubbles": "leak"},
        cautions=list(_AIR),
        preconditions=["every gyro, gauge, switch and regulator diaphragm out of the section and capped"],
        method="2.5 psi, hold, soap, release slowly; cracks that pressure closes do not show.",
    ),
    _check(
        "borescope_lines",
        "C17",
        "borescope lines, pump ports and regulator; white cloth through",
        40,
        access=["cowl off"],
        tools=["borescope", "white cloth"],
        outcomes=_outcomes(
            clean="clean",
            grey_film="grey film",
            chips="chips or black cloth",
            liner_or_kink="loose liner, kink or blockage",
        ),
        background=[0.89, 0.085, 0.010, 0.015],
        table={
            "debris_left_in_lines": [0.04, 0.22, 0.74, 0.0],
            "coupling_sheared": [0.35, 0.42, 0.23, 0.0],
            "line_restricted": [0.12, 0.05, 0.03, 0.80],
            "hose_collapsed": [0.25, 0.03, 0.02, 0.70],
            "inline_filter_loaded": [0.40, 0.55, 0.05, 0.0],
        },
        confirms={"liner_or_kink": "line_restricted"},
        method="Both ends; photograph.",
    ),
    _check(
        "regulator_seat_look",
        "C18",
        "open the regulator and look at its seat",
        45,
        needs_part="regulator",
        access=["panel down"],
        tools=["as its manual says", "blunt plastic tool"],
        outcomes=_outcomes(clean="clean", sooty="sooty, shut", grit_bedded="grit bedded in the seat"),
        background=[0.82, 0.17, 0.01],
        table={
            "regulator_seat_dirty": [0.02, 0.10, 0.88],
            "debris_left_in_lines": [0.30, 0.60, 0.10],
            "regulator_filter_clogged": [0.60, 0.35, 0.05],
        },
        confirms={"grit_bedded": "regulator_seat_dirty"},
        cautions=["Mark the screw first; do not turn it."],
        preconditions=["its manual allows opening it"],
        method="Record turns showing; lift grit with a blunt plastic tool.",
    ),
    _check(
        "swap_indicator",
        "C19",
        "swap an instrument for a known good one of the same type",
        90,
        at_instrument=True,
        harmless=False,
        access=["panel down"],
        outcomes=_outcomes(no_change="no change", fault_goes="fault goes with it"),
        background=[0.94, 0.06],
        table={
            "indicator_bearing": [0.05, 0.95],
            "indicator_contaminated": [0.05, 0.95],
            "instrument_case_leak": [0.05, 0.95],
        },
        preconditions=["a known good instrument, and data that allow the swap", "the air lines proved clean"],
        cautions=["One change at a time. Fit no good instrument to a supply that may be shedding."],
        method="Sweep before and after.",
    ),
    _check(
        "indicator_bench",
        "C21",
        "instrument to the shop: bench test and report",
        60,
        at_instrument=True,
        by_source=False,
        elsewhere=True,
        harmless=False,
        who="instrument shop",
        access=["panel down"],
        outcomes=_outcomes(sound="sound", worn="bearings worn", dirty="dark dust inside"),
        background=[0.93, 0.06, 0.01],
        table={
            "indicator_bearing": [[0.35, 0.65, 0.0], [0.04, 0.96, 0.0]],
            "indicator_contaminated": [0.04, 0.11, 0.85],
        },
        confirms={"worn": "indicator_bearing", "dirty": "indicator_contaminated"},
        cautions=["Tell the shop what was found at the inlet: it changes the bench work."],
        method="Erection time, drift, air use, leak.",
    ),
    _check(
        "cover_test",
        "C23",
        "cover the regulator's air intake for five seconds, below the knee",
        2,
        needs_part="regulator",
        kind="cover test",
        access=["engine warm"],
        needs_running_pump=True,
        preconditions=["the intake can be reached from the cabin"],
        cautions=[
            *_ENGINE,
            "Only at 1,000 to 1,200 rpm: above the knee suction climbs past the band. Nobody near the propeller.",
        ],
        method="Note rpm and both readings; a rise means the seat leaks by that much, none that it is tight.",
    ),
    _check(
        "workshop_suction",
        "C24",
        "engine off: workshop suction with a flow meter at a port, gyros connected",
        45,
        kind="suction flow",
        access=["cowl off"],
        tools=["suction source limited to 6 inHg", "flow meter", "gauge", "caps"],
        cautions=list(_SUCTION),
        method="With the regulator fitted, then its intake covered; log flow, suction and port.",
    ),
    _check(
        "case_suction",
        "C14",
        "workshop suction on one instrument case, its inlet capped",
        40,
        at_instrument=True,
        access=["panel down"],
        tools=["suction source", "flow meter", "caps"],
        outcomes=_outcomes(tight="next to no flow", flows="flows"),
        background=[0.98, 0.02],
        table={"instrument_case_leak": [[0.10, 0.90], [0.01, 0.99]]},
        confirms={"flows": "instrument_case_leak"},
        cautions=[*_SUCTION, "The limit comes from the instrument shop."],
        method="5 inHg at the outlet port; expected near nothing.",
    ),
    _check(
        "inline_filter_look",
        "C08",
        "take out the inline filter and look, then cut it open",
        15,
        needs_part="inline filter",
        access=["cowl off"],
        tools=["knife", "tray"],
        outcomes=_outcomes(
            light="light", loaded="black on the dirty side", past_seal="black through, or a track past the seal"
        ),
        background=[0.80, 0.19, 0.01],
        table={
            "inline_filter_loaded": [[0.20, 0.70, 0.10], [0.02, 0.78, 0.20]],
            "worn_vanes": [[0.55, 0.42, 0.03], [0.20, 0.65, 0.15]],
            "indicator_contaminated": [0.30, 0.20, 0.50],
        },
        cautions=["Carbon dust: gloves and mask."],
        method="Photograph both faces and the seal.",
    ),
    _check(
        "inlet_filter_look",
        "C08",
        "look at the pump inlet filter",
        10,
        needs_part="inlet filter",
        access=["cowl off"],
        outcomes=_outcomes(light="light", loaded="loaded"),
        background=[0.80, 0.20],
        table={"inlet_filter_loaded": [[0.30, 0.70], [0.03, 0.97]]},
        method="Hold it to the light.",
    ),
    _check(
        "instrument_inlet_look",
        "C17",
        "look at an instrument's air port, with a scope and a white cloth",
        20,
        at_instrument=True,
        access=["panel down"],
        tools=["borescope", "white cloth"],
        outcomes=_outcomes(clean="clean", grey="light grey", black="black"),
        background=[0.86, 0.125, 0.015],
        table={"indicator_contaminated": [[0.15, 0.50, 0.35], [0.03, 0.27, 0.70]]},
        confirms={"black": "indicator_contaminated"},
        method="Cap it again at once.",
    ),
    _check(
        "regulator_adjustment_check",
        "C01",
        "compare the regulator screw with its record or photograph",
        5,
        needs_part="regulator",
        access=["panel down"],
        outcomes=_outcomes(as_recorded="as recorded", turned="turned"),
        background=[0.90, 0.10],
        table={"regulator_high": [0.12, 0.88], "regulator_low": [0.45, 0.55]},
        cautions=["Look; do not turn it."],
        method="Count the threads that show.",
    ),
    _check(
        "pump_teardown",
        "C12",
        "open the removed pump: rotor, vanes laid out and counted",
        30,
        access=["cowl off", "pump off"],
        by_source=True,
        harmless=False,
        outcomes=_outcomes(
            ordinary="ordinary wear",
            broken="rotor broken, set complete, cause not shown",
            vanes_short="vanes worn short",
            oil_paste="oil or wet paste",
            foreign_carbon="pieces that belong to no vane of this pump",
            vise_marks="jaw marks, squeezed bore or sealant",
        ),
        background=[0.86, 0.04, 0.06, 0.02, 0.01, 0.01],
        table={
            "worn_vanes": [0.15, 0.10, 0.71, 0.01, 0.02, 0.01],
            "coupling_sheared": [0.52, 0.38, 0.06, 0.02, 0.01, 0.01],
            "debris_left_in_lines": [0.08, 0.22, 0.04, 0.01, 0.64, 0.01],
            "oil_in_pump": [0.10, 0.08, 0.04, 0.76, 0.01, 0.01],
            "solvent_or_water_in_pump": [0.15, 0.15, 0.04, 0.64, 0.01, 0.01],
            "pump_overheated": [0.30, 0.45, 0.18, 0.04, 0.02, 0.01],
            "pump_damaged_when_fitted": [0.08, 0.25, 0.03, 0.02, 0.02, 0.60],
        },
        confirms={
            "foreign_carbon": "debris_left_in_lines",
            "vanes_short": "worn_vanes",
            "vise_marks": "pump_damaged_when_fitted",
        },
        cautions=["Body never in a vise. Account for every fragment: one that is missing is a concern for the engine."],
        method="Lay out every piece; measure vane thickness against this pump's own.",
    ),
    _check(
        "stop_each_source",
        "C02",
        "run each pump alone and watch the reading",
        15,
        needs_part="check valve",
        access=["engine warm"],
        needs_running_pump=True,
        outcomes=_outcomes(both_hold="each pump alone holds the reading", one_does_not="one does not"),
        background=[0.96, 0.04],
        table={
            "check_valve_stuck_shut": [0.03, 0.97],
            "worn_vanes": [[0.85, 0.15], [0.30, 0.70]],
            "coupling_sheared": [0.02, 0.98],
            "hose_off": [0.02, 0.98],
        },
        cautions=list(_ENGINE),
        method="At the same engine speed; twin installations only.",
        preconditions=["two pumps that can be run apart"],
    ),
    _check(
        "lamp_test",
        "C02",
        "press-to-test the lamp, and note the reading where it trips",
        5,
        needs_part="lamp",
        who="owner, where the local rules allow",
        access=["engine warm"],
        needs_running_pump=True,
        outcomes=_outcomes(right="works, trips where it should", wrong="dark, or trips elsewhere"),
        background=[0.95, 0.05],
        table={"lamp_false": [0.08, 0.92]},
        confirms={"wrong": "lamp_false"},
        cautions=list(_ENGINE),
        method="Ease the engine speed up and down through the trip.",
    ),
    _check(
        "autopilot_test",
        "C02",
        "autopilot ground test as its own supplement says",
        10,
        who="owner, where the local rules allow",
        access=["engine warm"],
        needs_running_pump=True,
        outcomes=_outcomes(passes="passes", fails="fails"),
        background=[0.92, 0.08],
        table={"autopilot_itself": [0.15, 0.85]},
        cautions=[*_ENGINE, "Know the disconnect before engaging. Never couple it to an indicator under suspicion."],
        method="Engage on the ground with a proved indicator; check roll, heading, disconnect.",
    ),
)

CHECKS: Final[Mapping[str, Check]] = MappingProxyType({check.id: check for check in _CHECKS})

CODES: Final[Mapping[str, str]] = MappingProxyType(
    {"C23": "cover_test", "C24": "workshop_suction", "C16": "workshop_suction", "C11": "wear_port", "C06": "sweep"}
)
"""Codes of the trade notes that name one check by themselves."""
