"""Cases: one true aircraft, one true fault, and the evidence file a person would have written that day."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from typing import Any, Literal

import numpy as np

from tests.generator import noticing
from tests.generator.faults import CONTEXTS, FAULTS, Fault
from tests.generator.world import PA_PER_INHG, Gauge, Point, World, set_regulators, true_numbers
from vanewise.aircraft.description import AircraftDescription
from vanewise.network.packed import PackedNetwork

Arm = Literal["model true", "gauge biased", "other drive ratio", "defaults wrong", "fault outside"]
SWEEP = (700.0, 1000.0, 1200.0, 1500.0, 1800.0, 2100.0, 2400.0)
TRIP_INHG = 3.5


@dataclass(frozen=True, slots=True)
class Truth:
    """What is really wrong: the fault, the part or line it sits on, and the level a person could name."""

    fault: str
    group: str
    part: str
    level: str
    inside: bool


@dataclass(slots=True)
class Case:
    """One report. ``evidence`` is the evidence file as plain data; ``world`` answers the checks asked afterwards."""

    number: int
    arm: Arm
    layout: str
    truth: Truth
    evidence: dict[str, Any]
    world: World
    fault: Fault
    faulty: Mapping[str, float]
    drawn: Mapping[str, float]
    generator: np.random.Generator
    contexts: tuple[str, ...] = ()
    asked: dict[str, Any] = field(default_factory=dict)

    def text(self) -> str:
        """The evidence file as text."""
        return json.dumps(self.evidence)

    def at(self, point: Point) -> Mapping[str, float]:
        """Overrides of the fault at this point."""
        return _filled(self.fault, point, self.faulty, self.drawn, self.truth.part)


def _places(description: AircraftDescription, where: str) -> list[str]:
    lines = list(description.lines)
    kinds = {
        "pump": ("pump",),
        "regulator": ("regulator",),
        "gyro": ("attitude indicator", "heading indicator"),
        "attitude": ("attitude indicator",),
        "filter": ("intake filter",),
        "inline": ("inline filter",),
        "inlet": ("inlet filter",),
        "valve": ("check valve",),
        "manifold": ("manifold",),
    }
    if where in kinds:
        return [part.id for kind in kinds[where] for part in description.parts_of(kind)]
    if where == "suction line":
        pumps = [part.id for part in description.parts_of("pump")]
        side = ".inlet" if description.duty == "suction" else ".outlet"
        return [line.id for line in lines if any(f"{p}{side}" in (line.start, line.end) for p in pumps)]
    if where == "gyro line":
        pump = {part.id for part in description.parts_of("pump")}
        return [
            line.id
            for line in lines
            if not ({line.start.split(".")[0], line.end.split(".")[0]} & pump)
            and "engine bay" not in (line.start, line.end)
        ]
    if where == "lamp":
        return ["lamp"] if description.lamp is not None else []
    return [where]


def _filled(
    fault: Fault, point: Point, faulty: Mapping[str, float], drawn: Mapping[str, float], part: str
) -> Mapping[str, float]:
    if fault.by_speed is None:
        return faulty
    at = fault.by_speed(point.rpm, point.step, drawn)
    return {**faulty, **{_named(key, part): value for key, value in at.items()}}


def _named(key: str, part: str) -> str:
    owner, _, name = key.partition("}.")
    return f"{part}.{name}" if owner.startswith("{") else key


class Aircraft:
    """One described aircraft of the study, packed once."""

    def __init__(self, layout: str, packed: PackedNetwork) -> None:
        self.layout, self.packed = layout, packed
        d = packed.description
        self.setting = d.parts_of("regulator")[0].values["setting"].number / PA_PER_INHG
        kinds = {part.kind for part in d.parts}
        words = {w for w in _WORDS if _can_show(w, kinds, d.lamp is not None)}
        self.possible = frozenset(words)


_WORDS = frozenset(
    {
        *noticing.IMAGINED,
        "ai_precesses_after_turn",
        "ai_tumbles",
        "hi_sluggish",
        "lamp_on",
        "lamp_slow_to_go_out",
        "ai_noise",
        "ai_coast_short",
        "hi_noise",
        "hi_coast_short",
        "soot_heavy",
        "oil_on_coupling",
        "pump_hot",
        "nest_in_outlet",
        "hiss_heard",
        "hose_cracked",
        "clamp_loose",
        "hose_soft",
        "hose_kinked",
        "filter_grey",
        "inline_filter_black",
        "readings_differ_up_and_down",
        "foam_crumbs",
        "dust_at_instrument_inlet",
        "gauge_frozen",
        "gauge_off_its_stop",
        "stopped_suddenly",
        "oil_on_belly",
        "pump_noise",
        "water_in_line",
        "fitting_cracked",
        "hose_liner_loose",
        "gauge_slow_rise",
        "ai_late_erect_cold",
        "filter_wet",
        "filter_black",
        "filter_missing",
        "ai_pitch_error",
        "ai_jitters",
        "hi_spins",
        "hi_sudden_jump",
        "ap_rolls_off",
        "ap_heading_wanders",
        "ap_slow_to_level",
    }
)


def _can_show(word: str, kinds: set[str], lamp: bool) -> bool:
    if word.startswith("ai_"):
        return "attitude indicator" in kinds
    if word.startswith("hi_"):
        return "heading indicator" in kinds
    if word.startswith("ap_"):
        return "autopilot" in kinds
    if word.startswith("lamp_"):
        return lamp
    if word in ("filter_grey", "filter_wet", "filter_black"):
        return "intake filter" in kinds
    if word == "inline_filter_black":
        return "inline filter" in kinds
    return True


def _choose(
    aircraft: Aircraft, generator: np.random.Generator, arm: Arm
) -> tuple[Fault, str, tuple[str, ...], dict[str, float], dict[str, float]]:
    """The fault, its part, what went before, its overrides and its other numbers."""
    d = aircraft.packed.description
    contexts = tuple(name for name, chance in CONTEXTS.items() if generator.random() < chance)
    pool = [
        (fault, places)
        for fault in FAULTS
        if fault.inside == (arm != "fault outside") and d.duty in fault.duties and (places := _places(d, fault.where))
    ]
    weights = np.array([f.weight * np.prod([f.after.get(c, 1.0) for c in contexts]) for f, _ in pool])
    fault, places = pool[int(generator.choice(len(pool), p=weights / weights.sum()))]
    part = str(generator.choice(places))
    drawn = dict(fault.draw(generator))
    inline = next((p.id for p in d.parts_of("inline filter")), part)
    faulty = {
        _named(key, inline if key.startswith("{inline}") else part): value
        for key, value in drawn.items()
        if not key.startswith("@")
    }
    return fault, part, contexts, faulty, {key: value for key, value in drawn.items() if key.startswith("@")}


def _gauge(fault: Fault, drawn: Mapping[str, float], arm: Arm, generator: np.random.Generator) -> Gauge:
    bias = 0.12 * generator.standard_normal()
    if arm == "gauge biased":
        bias += 0.5 * float(generator.choice([-1.0, 1.0]))
    return Gauge(
        bias=float(bias),
        scale=float(0.02 * generator.standard_normal()),
        read_sd=float(generator.uniform(0.04, 0.09)),
    )


def read_gauge(case_gauge: Gauge, true: float, generator: np.random.Generator, extra: float = 0.0) -> float:
    """What a person writes down: to a tenth, never below the stop."""
    if case_gauge.frozen is not None:
        return round(case_gauge.frozen, 1)
    seen = true * (1.0 + case_gauge.scale) + case_gauge.bias + extra + case_gauge.read_sd * generator.standard_normal()
    return round(max(float(seen), 0.0), 1)


def make(aircraft: Aircraft, seed: int, number: int, arm: Arm) -> Case:
    """Case ``number`` of a study: the same from the same seed, whatever was made before it.

    An aircraft on which nobody would notice anything gives no report, and is drawn again.
    """
    for trial in range(200):
        case = _made(aircraft, seed, number, trial, arm)
        if _worth_a_report(case):
            return case
    raise RuntimeError("no report in 200 draws")


def _worth_a_report(case: Case) -> bool:
    """Something remarked that is no everyday sight, a reading out of the usual band, or one that has fallen."""
    remarks = {entry["symptom"] for entry in case.evidence.get("remarks", []) if entry.get("present", True)}
    if remarks - {"lamp_flickers_at_idle", "soot_thin", "filter_grey"}:
        return True
    *earlier, now = case.evidence["sweeps"]
    if any(not 4.4 <= value <= 5.6 for rpm, value in zip(now["rpm"], now["reading"], strict=True) if rpm >= 1800.0):
        return True
    was = dict(zip(earlier[0]["rpm"], earlier[0]["reading"], strict=True)) if earlier else {}
    return any(was.get(rpm, value) - value > 0.45 for rpm, value in zip(now["rpm"], now["reading"], strict=True))


def _made(aircraft: Aircraft, seed: int, number: int, trial: int, arm: Arm) -> Case:
    generator = np.random.default_rng([seed, number, trial])
    fault, part, contexts, faulty, drawn = _choose(aircraft, generator, arm)
    gauge = _gauge(fault, drawn, arm, generator)
    drive = float(generator.choice([0.87, 1.15])) if arm == "other drive ratio" else 1.0
    numbers = true_numbers(aircraft.packed, generator, drive, 0.3 if arm == "defaults wrong" else 0.0)
    # A gauge that went wrong later was right when the regulator was set by it.
    screws = set_regulators(aircraft.packed, numbers, gauge, aircraft.setting + 0.06 * generator.standard_normal())
    world = World(aircraft.packed, {**numbers, **screws}, gauge)
    for key, value in list(faulty.items()):
        name = key.rpartition(".")[2]
        if name == "set_shift_inhg":
            faulty[key] = value + screws.get(key, 0.0)
        elif name in ("slip", "loading"):
            faulty[key] = value * numbers.get(key, 1.0)
    truth = Truth(fault=fault.name, group=fault.group, part=part, level="", inside=fault.inside)
    case = Case(
        number=number,
        arm=arm,
        layout=aircraft.layout,
        truth=truth,
        evidence={},
        world=world,
        fault=fault,
        faulty=faulty,
        drawn=drawn,
        generator=generator,
        contexts=contexts,
    )
    _write(case, aircraft)
    return case


def now_gauge(case: Case) -> Gauge:
    """The gauge as it is on the day of the report."""
    sound = case.world.gauge
    frozen = case.drawn.get("@frozen")
    return replace(sound, bias=sound.bias + case.drawn.get("@bias", 0.0), frozen=frozen)


def begun_warm(case: Case) -> bool:
    """Whether a sweep was begun with a warm engine: not after a cold start, nor where water or ice shows, which it only
    does in a run that begins cold."""
    return case.fault.group != "water" and "cold start" not in case.contexts


def reading_at(case: Case, true: float, point: Point) -> float:
    """The panel gauge, read on the day of the report."""
    return read_gauge(now_gauge(case), true, case.generator, case.at(point).get("@offset", 0.0))


def _write(case: Case, aircraft: Aircraft) -> None:
    """Sweep, cruise, lamp, remarks and events into the case's evidence; and the level of its truth."""
    g = case.generator
    altitude = float(g.integers(2, 10) * 1000)
    full = g.random() < 0.7
    speeds = SWEEP if full else (700.0, 1800.0, 2400.0)
    sweep = [Point(rpm, step=i / (len(speeds) - 1)) for i, rpm in enumerate(speeds)]
    anchors = [Point(1000.0), Point(1100.0), Point(1800.0), Point(2400.0, altitude, 1.0)]
    points = [*sweep, *anchors]
    faulty = case.world.solved([(point, case.at(point)) for point in points])
    sound_points = [Point(rpm) for rpm in SWEEP] + anchors
    sound = case.world.solved([(point, {}) for point in sound_points])
    data: dict[str, Any] = {"title": "generated", "conditions": {"altitude": f"{altitude:.0f} ft"}}
    changed = {"pump changed", "regulator adjusted"} & set(case.contexts)
    data["sweeps"] = []
    if g.random() < 0.4 and not changed:
        base = [read_gauge(case.world.gauge, sound["gauge"][i], g) for i in range(len(SWEEP))]
        data["sweeps"].append({"id": "earlier", "rpm": list(SWEEP), "reading": base, "sound": True, "who": "mechanic"})
    now = [reading_at(case, faulty["gauge"][i], point) for i, point in enumerate(sweep)]
    warm = begun_warm(case)
    data["sweeps"].append({"id": "as found", "rpm": list(speeds), "reading": now, "warm": warm, "who": "mechanic"})
    if g.random() < 0.5:
        value = reading_at(case, faulty["gauge"][-1], anchors[-1])
        data["readings"] = [
            {
                "id": "cruise",
                "reading": f"{value} inHg",
                "rpm": "2400 rpm",
                "altitude": f"{altitude:.0f} ft",
                "who": "pilot",
            }
        ]
    lamp = _lamp(case, data, sweep, faulty, sound, len(sweep), full)
    drops = _drops(aircraft, faulty, len(sweep))
    _level(case, aircraft, faulty, sound, len(speeds))
    chances = noticing.from_pressures(drops, lamp)
    chances["gauge_low_idle"] = noticing.low_at_idle(now[0], float(sound["gauge"][0]))
    words = noticing.ABOUT.get(_kind(aircraft, case.truth.part), {})
    for word, chance in case.fault.noticed.items():
        name = words.get(word, word)
        chances[name] = max(chances.get(name, 0.0), chance)
    data["remarks"] = noticing.remarks(chances, g, aircraft.possible, "pilot")
    data["events"] = _events(case.contexts, g)
    case.evidence = {key: value for key, value in data.items() if value != []}


def _kind(aircraft: Aircraft, part: str) -> str:
    kinds = {p.id: p.kind for p in aircraft.packed.description.parts}
    return kinds.get(part, "")


def _drops(aircraft: Aircraft, faulty: Mapping[str, Any], first: int) -> dict[str, dict[str, float]]:
    kinds = {part.id: part.kind for part in aircraft.packed.description.parts}
    return {
        kinds[name.removeprefix("drop ")]: {
            "taxi": float(values[first]),
            "run_up": float(values[first + 2]),
            "cruise": float(values[first + 3]),
        }
        for name, values in faulty.items()
        if name.startswith("drop ")
    }


def _lamp(
    case: Case,
    data: dict[str, Any],
    sweep: list[Point],
    faulty: Mapping[str, Any],
    sound: Mapping[str, Any],
    first: int,
    full: bool,
) -> dict[str, float] | None:
    if "lamp" not in faulty:
        return None
    trip = TRIP_INHG * case.drawn.get("@trip", 1.0) + 0.15 * case.generator.standard_normal()
    curve = faulty["lamp"][:first]
    if full and case.generator.random() < 0.4 and curve[0] < trip < curve[-1]:
        rpm = float(np.interp(trip, np.maximum.accumulate(curve), [point.rpm for point in sweep]))
        rpm += 30.0 * case.generator.standard_normal()
        data["lamp"] = [{"id": "lamp", "rpm": f"{10 * round(rpm / 10):.0f} rpm", "who": "pilot"}]
    base = len(SWEEP)
    return {
        "trip": trip,
        "cruise": float(faulty["lamp"][first + 3]),
        "fast_taxi": float(faulty["lamp"][first + 1]),
        "sound_fast_taxi": float(sound["lamp"][base + 1]),
    }


def _level(case: Case, aircraft: Aircraft, faulty: Mapping[str, Any], sound: Mapping[str, Any], speeds: int) -> None:
    """Supply dead, weak or high, one instrument, indication, nothing that shows or nothing wrong: from the solved
    pressures, and from the group where the air tells nothing."""
    names = [name for name in faulty if name.startswith("drop ")]
    place = [speeds + i for i in range(4)]
    base = [len(SWEEP) + i for i in range(4)]
    now = np.array([faulty[name][place] for name in names])
    was = np.array([sound[name][base] for name in names])
    level = "nothing shows"
    if case.fault.group == "nothing":
        level = "nothing wrong"
    elif case.fault.group in ("mounting", "misrouting"):
        level = "one instrument"
    elif case.fault.group in ("gauge", "gauge lines", "lamp"):
        level = "indication only"
    elif now[:, 2:].max() < 0.8:
        level = "supply dead"
    elif case.fault.group == "instrument" and case.fault.name != "instrument case leaks":
        level = "one instrument"
    elif (now - was).min(axis=1).max() < -0.25:
        level = "supply weak"
    elif (now - was).min() < -0.25:
        level = "one instrument"
    elif (now - was).max() > 0.25:
        level = "supply high"
    case.truth = replace(case.truth, level=level)


EVENTS: Mapping[str, tuple[str, float]] = {
    "pump changed": ("pump_changed", 150.0),
    "gyro changed": ("gyro_changed", 60.0),
    "panel work": ("panel_work", 60.0),
    "regulator adjusted": ("regulator_adjusted", 60.0),
    "filter changed": ("intake_filter_changed", 150.0),
    "cold start": ("cold_start", 1.0),
    "long parking": ("long_parking", 10.0),
    "hot cruise only": ("hot_cruise_only", 1.0),
    "smoked in": ("smoked_in_cabin", 100.0),
}


def _events(contexts: tuple[str, ...], generator: np.random.Generator) -> list[dict[str, Any]]:
    out: list[dict[str, Any]] = []
    for context in contexts:
        if context not in EVENTS or generator.random() > 0.85:
            continue
        kind, within = EVENTS[context]
        out.append({"id": kind, "kind": kind, "hours_ago": f"{generator.uniform(0, within):.1f} h"})
    return out


def study(fleet: Mapping[str, Aircraft], seed: int, count: int, arm: Arm) -> Iterator[Case]:
    """``count`` cases of one arm, layout by layout."""
    layouts = list(fleet)
    for place, layout in enumerate(layouts):
        for number in range(place, count, len(layouts)):
            yield make(fleet[layout], seed, number, arm)
