"""What a mechanic finds who does one check on a generated case.

Readings are solved on the true aircraft; looks succeed and fail at rates of our own (judgement). A check done twice
gives the same finding, as it does on a real aircraft.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, Final

import numpy as np

from tests.generator.cases import Case, begun_warm, now_gauge, reading_at
from tests.generator.world import Point

Entry = tuple[str, dict[str, Any]]
Chances = Mapping[str, float]

PRESSURE_SD: Final = 0.05
"""Of a test gauge [inHg]."""


def perform(case: Case, check: str, place: str = "") -> list[Entry]:
    """Do ``check`` at ``place``: (section, entry) pairs for the evidence file. Raises KeyError for an unknown check."""
    key = f"{check} {place}"
    if key not in case.asked:
        case.asked[key] = _MEASURED[check](case, place) if check in _MEASURED else [_looked(case, check, place)]
    return list(case.asked[key])


def known(check: str) -> bool:
    """Whether the generator can do this check."""
    return check in _MEASURED or check in _LOOKS


def _looked(case: Case, check: str, place: str) -> Entry:
    chances = _LOOKS[check](case, place)
    names = list(chances)
    weights = np.array([chances[name] for name in names])
    outcome = names[int(case.generator.choice(len(names), p=weights / weights.sum()))]
    entry: dict[str, Any] = {"id": f"{check} {place}".strip(), "check": check, "outcome": outcome}
    if place:
        entry["place"] = place
    return "checks", entry


def _either(chance: float, yes: str, no: str) -> Chances:
    return {yes: chance, no: 1.0 - chance}


def _is(case: Case, *names: str) -> bool:
    return case.truth.fault in names


def _here(case: Case, place: str) -> bool:
    return not place or case.truth.part == place


def _joined(case: Case, one: str, other: str) -> bool:
    """Whether one line runs from the one part to the other, or the one is a line at the other."""
    for line in case.world.description.lines:
        ends = {line.start.partition(".")[0], line.end.partition(".")[0]}
        if {one, other} <= ends or (line.id == one and other in ends):
            return True
    return False


def _elsewhere(case: Case, place: str) -> bool:
    """Whether the look is at one of several like parts and the fault at another, as on twin pumps.

    A fault on a line or a filter counts as at the pump it joins.
    """
    parts = case.world.description.parts
    kind = next((part.kind for part in parts if part.id == place), "")
    like = [part.id for part in parts if part.kind == kind]
    if kind not in _APART or case.truth.part == place:
        return False
    return case.truth.part in like or (
        any(_joined(case, case.truth.part, name) for name in like) and not _joined(case, case.truth.part, place)
    )


_APART: Final = ("pump", "regulator", "intake filter", "inline filter", "inlet filter", "manifold")
"""Kinds of part that are looked at one by one."""


def _is_here(case: Case, place: str, *names: str) -> bool:
    return _is(case, *names) and not _elsewhere(case, place)


def _value(case: Case, ending: str, sound: float) -> float:
    """The largest true value of a number on any part, the fault counted in."""
    numbers = {**case.world.sound, **case.at(Point(2400.0, step=1.0))}
    found = [value for key, value in numbers.items() if key.endswith(ending)]
    return max(found, default=sound)


STOPPED: Final = ("pump wetted in a wash, seized", "sealant drawn into the pump", "pump of the wrong hand, broken")
"""Pumps that stopped without old carbon in them."""
WRONG_HAND: Final = ("pump of the wrong hand, broken", "pump of the wrong hand, weak or dead from the first start")
NOT_LEVEL: Final = "instrument not level in its panel"
PLUGGED: Final = "plug left in an instrument's port"
EXCHANGED: Final = "an instrument's hoses exchanged"
STANDING: Final = ("coupling sheared", "pump jammed by old carbon", *STOPPED)
"""Pumps whose half of the coupling no longer turns."""
WORN: Final = ("pump worn", "pump worn, its carbon in the inline filter")
LEFT_BY_WORK: Final = (
    "sealant drawn into the pump",
    "pump body strained in a vice",
    *WRONG_HAND,
    NOT_LEVEL,
    PLUGGED,
    EXCHANGED,
    "fitting cracked at the pump",
    "port left open at a tee",
    "gauge lines crossed",
    "intake filter missing",
    "intake filter's element displaced",
    "inline filter missing or burst",
    "pump inlet filter missing",
    "regulator filter missing",
)
"""Faults that a hand has left behind, some of them long ago."""
WORK: Final = ("pump changed", "gyro changed", "panel work", "regulator adjusted")


def _records(case: Case, place: str) -> Chances:
    if "pump changed" in case.contexts:
        silent = 0.8 if _is(case, "pump jammed by old carbon") else 0.35
        return _either(silent, "no_line_cleaning", "other_work")
    if {"gyro changed", "panel work", "regulator adjusted"} & set(case.contexts):
        return _either(0.95, "other_work", "nothing")
    if _is(case, *LEFT_BY_WORK):
        return _either(0.45, "other_work", "nothing")
    if _is(case, "pump wetted in a wash, seized"):
        return _either(0.35, "other_work", "nothing")  # few washes are written down
    return _either(0.08, "other_work", "nothing")


def _worked(case: Case) -> bool:
    return bool(set(WORK) & set(case.contexts))


def _pointer(case: Case, place: str) -> Chances:
    if _is(case, "gauge lines crossed"):
        return {"on_stop": 0.8, "off_stop": 0.2}
    if _is(case, "gauge sticks"):
        return {"does_not_fall": 0.75, "off_stop": 0.2, "on_stop": 0.05}
    off = 0.6 if abs(now_gauge(case).bias) > 0.4 else 0.03
    return {"off_stop": off, "on_stop": 0.99 - off, "does_not_fall": 0.01}


def _coast(case: Case, place: str) -> Chances:
    bad = 0.8 if _is(case, "instrument bearings worn") and _here(case, place) else 0.07
    if _is(case, "instrument dirty inside") and _here(case, place):
        bad = 0.45
    if _is(case, PLUGGED, EXCHANGED) and _here(case, place):
        bad = 0.8  # it never came up to speed
    return _either(bad, "short_or_noisy", "long_and_quiet")


def _compared(case: Case, place: str) -> Chances:
    gauge = now_gauge(case)
    error = abs(gauge.bias + 5.0 * gauge.scale) if gauge.frozen is None else 1.0
    error = max(error, abs(case.at(Point(2400.0)).get("@offset", 0.0)))
    return _either(float(1.0 / (1.0 + np.exp(-(error - 0.3) / 0.05))), "differs", "agrees")


def _loading(case: Case, place: str, kind: str) -> float:
    """The largest true loading of the filters of a kind, or of the one at the place."""
    ids = [part.id for part in case.world.description.parts_of(kind)]
    numbers = {**case.world.sound, **case.at(Point(2400.0, step=1.0))}
    return max((numbers.get(f"{name}.loading", 1.0) for name in ([place] if place in ids else ids)), default=1.0)


def _filter(case: Case, place: str) -> Chances:
    loading = _loading(case, place, "intake filter")
    if _is_here(case, place, "filter folds with flow"):
        return _either(0.15, "loaded", "light")
    if _is_here(case, place, "intake filter wet", "intake filter tarred"):
        return {"wet": 0.75, "loaded": 0.15, "light": 0.1}
    if _is_here(case, place, "intake filter missing"):
        return _either(0.97, "missing", "light")
    if _is_here(case, place, "intake filter's element displaced"):
        return {"light": 0.8, "loaded": 0.1, "missing": 0.09, "wet": 0.01}
    return {"loaded": float(np.clip((loading - 2.0) / 5.0, 0.04, 0.93)), "light": 1.0, "wet": 0.01}


def _two_stage_filter(case: Case, place: str, kind: str) -> Chances:
    """The inline filter, often in a body that must be opened, or the pump's inlet filter, which lies open."""
    if _is_here(case, place, _NO_ELEMENT[kind]):
        missing = 0.88 if kind == "inline filter" else 0.96
        return {"missing": missing, "light": 0.6 * (1.0 - missing), "loaded": 0.4 * (1.0 - missing)}
    loaded = float(np.clip((_loading(case, place, kind) - 2.0) / 5.0, 0.06, 0.93))
    return {"loaded": loaded, "light": 0.995 - loaded, "missing": 0.005}


_NO_ELEMENT: Final[Mapping[str, str]] = {
    "inline filter": "inline filter missing or burst",
    "inlet filter": "pump inlet filter missing",
}


def _foam(case: Case, place: str) -> Chances:
    ids = [part.id for part in case.world.description.parts_of("regulator")]
    point = Point(2400.0, step=1.0)
    free = {**case.at(point), **{f"{name}.filter_loading": 0.2 for name in ([place] if place in ids else ids)}}
    both = case.world.solved([(point, case.at(point)), (point, free)])["gauge"]
    return _either(0.95 if both[0] - both[1] > 0.25 else 0.03, "falls", "unchanged")


def _seat(case: Case, place: str) -> Chances:
    if _is_here(case, place, "regulator seat held open"):
        return {"grit_bedded": 0.88, "sooty": 0.09, "clean": 0.03}
    if _is_here(case, place, "regulator filter missing"):
        return {"grit_bedded": 0.1, "sooty": 0.3, "clean": 0.6}  # unfiltered air goes by
    if _is(case, "pump worn, its carbon in the inline filter"):
        return {"grit_bedded": 0.06, "sooty": 0.5, "clean": 0.44}
    return {"grit_bedded": 0.02, "sooty": 0.2, "clean": 0.78}


_REFITTED: Final[Mapping[str, float]] = {NOT_LEVEL: 0.55, PLUGGED: 0.8, EXCHANGED: 0.5}
"""Chance that the trouble is gone with another instrument in, though the fault was in how the first was fitted: screwed
in level, the plug drawn, each hose on its own port. Hoses lie as they lay, and may go on exchanged again."""


def _swap(case: Case, place: str) -> Chances:
    if case.truth.fault in _REFITTED and _here(case, place):
        return _either(_REFITTED[case.truth.fault], "fault_goes", "no_change")
    return _either(0.93 if case.truth.group == "instrument" and _here(case, place) else 0.04, "fault_goes", "no_change")


def _bench(case: Case, place: str) -> Chances:
    if case.truth.group == "instrument" and _here(case, place):
        if _is(case, "instrument bearings worn"):
            return {"worn": 0.92, "dirty": 0.03, "sound": 0.05}
        if _is(case, "instrument jets choked", "instrument dirty inside"):
            return {"dirty": 0.85, "worn": 0.05, "sound": 0.1}
    if _is(case, "inline filter missing or burst"):
        return {"sound": 0.65, "worn": 0.06, "dirty": 0.29}
    if _is(case, "intake filter missing", "intake filter's element displaced") and _breathes_by_it(case, place):
        return {"sound": 0.83, "worn": 0.05, "dirty": 0.12}
    return {"sound": 0.93, "worn": 0.05, "dirty": 0.02}


def _breathes_by_it(case: Case, place: str) -> bool:
    """Whether an instrument breathes by the intake filter at fault: one for all, or each its own."""
    one = len(case.world.description.parts_of("intake filter")) < 2
    return one or not place or _joined(case, case.truth.part, place)


def _case(case: Case, place: str) -> Chances:
    area = case.faulty.get(f"{place}.case_leak", 0.0) if place else _value(case, ".case_leak", 0.0)
    return _either(0.96 if area > 0.8 else 0.02, "flows", "tight")


def _inlet(case: Case, place: str) -> Chances:
    if _is(case, "instrument jets choked") and _here(case, place):
        return {"black": 0.55, "grey": 0.3, "clean": 0.15}
    if _is(case, "instrument dirty inside") and _here(case, place):
        return {"black": 0.3, "grey": 0.45, "clean": 0.25}
    if _is(case, "inline filter missing or burst"):
        return {"black": 0.75, "grey": 0.2, "clean": 0.05}
    if _is(case, "intake filter missing", "intake filter's element displaced") and _breathes_by_it(case, place):
        return {"black": 0.1, "grey": 0.65, "clean": 0.25}
    if _is(case, "intake filter tarred") and _breathes_by_it(case, place):
        return {"black": 0.08, "grey": 0.3, "clean": 0.62}
    filters = case.world.description.parts_of("intake filter")
    if _is(case, "port left open at a tee") and any(_joined(case, part.id, case.truth.part) for part in filters):
        return {"black": 0.03, "grey": 0.4, "clean": 0.57}  # cabin air past the filter
    return {"black": 0.02, "grey": 0.12, "clean": 0.86}


def _screw(case: Case, place: str) -> Chances:
    turned = 0.75 if "regulator adjusted" in case.contexts else 0.03
    if _is(case, "regulator set high", "regulator set low") and turned < 0.5:
        turned = 0.4
    return _either(turned, "turned", "as_recorded")


def _autopilot(case: Case, place: str) -> Chances:
    point = Point(1800.0)
    drop = case.world.solved([(point, case.at(point))])
    weak = min(float(v[0]) for k, v in drop.items() if k.startswith("drop ")) < 2.8
    sick = case.truth.part.startswith("attitude") and _is(
        case, "instrument bearings worn", "instrument dirty inside", NOT_LEVEL, EXCHANGED
    )
    return _either(0.7 if weak or sick else 0.04, "fails", "passes")


def _outlet(case: Case, place: str) -> Chances:
    if _is_here(case, place, "outlet blocked"):
        return {"blocked": 0.95, "clean": 0.05}
    if _is_here(case, place, *WORN):
        return {"heavy_soot": 0.3, "thin_soot": 0.5, "clean": 0.2}
    if _is_here(case, place, "pump overheated", "pump body strained in a vice"):
        return {"heavy_soot": 0.1, "thin_soot": 0.42, "clean": 0.47, "chips": 0.01}
    if _is_here(case, place, "pump inlet filter missing"):
        return {"heavy_soot": 0.1, "thin_soot": 0.38, "clean": 0.51, "chips": 0.01}  # grit wears the vanes
    if _is_here(case, place, *STANDING):
        return {"heavy_soot": 0.35, "chips": 0.25, "thin_soot": 0.25, "clean": 0.15}
    return {"heavy_soot": 0.03, "thin_soot": 0.3, "clean": 0.66, "chips": 0.005, "blocked": 0.005}


def _drain(case: Case, place: str) -> Chances:
    if _is_here(case, place, "oil in the pump", "drive pad's oil seal leaks"):
        return {"wet": 0.7, "trace": 0.2, "dry": 0.1}
    return {"wet": 0.02, "trace": 0.12, "dry": 0.86}


def _hoses(case: Case, place: str) -> Chances:
    if _is(case, "hose off"):
        return {"flat_or_off": 0.96, "sound": 0.04}
    if _is(case, "hose collapsed at the pump"):
        return {"flat_or_off": 0.6, "soft_or_cracked": 0.25, "sound": 0.15}
    if _is(case, "leak", "hose porous once warm", "instrument line pinched", "hose liner loose"):
        return {"soft_or_cracked": 0.3, "flat_or_off": 0.05, "sound": 0.65}
    return {"soft_or_cracked": 0.1, "flat_or_off": 0.01, "sound": 0.89}


def _vanes(case: Case, place: str) -> Chances:
    if _is_here(case, place, *WORN):
        return {"past": 0.75, "near": 0.2, "within": 0.05}
    if _is_here(case, place, "pump overheated", "pump inlet filter missing"):
        return {"past": 0.06, "near": 0.22, "within": 0.72}
    near = 0.15 if "many hours" in case.contexts else 0.04
    return {"past": 0.015, "near": near, "within": 0.985 - near}


def _turned(case: Case, place: str) -> Chances:
    if _is_here(case, place, *STANDING):
        return {"locked_or_parted": 0.98, "drags": 0.02}
    drags = 0.35 if _is_here(case, place, "oil in the pump", "pump overheated") else 0.03
    if _is_here(case, place, "pump body strained in a vice"):
        drags = 0.6
    if _is_here(case, place, WRONG_HAND[1]):
        drags = 0.12  # vanes that lean the wrong way tick as it is turned
    return {"locked_or_parted": 0.005, "drags": drags, "turns_smoothly": 0.995 - drags}


def _sections(case: Case, place: str) -> Chances:
    area = max(_value(case, ".leak", 0.0), 100.0 * _value(case, ".off", 0.0))
    chance = float(np.clip(area / 1.0, 0.02, 0.96))
    if _is(case, "fitting cracked at the pump"):
        chance = max(0.6 * chance, 0.02)  # the blanked section often ends at the hose, the fitting left out
    return _either(chance, "leaks", "tight")


def _soap(case: Case, place: str) -> Chances:
    area = max(_value(case, ".leak", 0.0), 100.0 * _value(case, ".off", 0.0))
    chance = float(np.clip(area / 1.5, 0.02, 0.88))
    if _is(case, "fitting cracked at the pump", "hidden tube cracked"):
        chance = max(0.6 * chance, 0.02)  # left out with the pump, or where no soap film reaches
    return _either(chance, "bubbles", "dry")


def _scope(case: Case, place: str) -> Chances:
    if _is(case, "hose collapsed at the pump", "instrument line pinched", "hose liner loose"):
        return {"liner_or_kink": 0.85, "clean": 0.13, "grey_film": 0.02}
    if _is(case, "pump jammed by old carbon"):
        return {"chips": 0.75, "grey_film": 0.2, "clean": 0.05}
    if _is(case, *STOPPED):
        return {"chips": 0.4, "grey_film": 0.3, "clean": 0.29, "liner_or_kink": 0.01}  # thrown out as it stopped
    if _is(case, "pump worn, its carbon in the inline filter", "inline filter missing or burst"):
        return {"chips": 0.05, "grey_film": 0.6, "clean": 0.34, "liner_or_kink": 0.01}
    if _is(case, "hidden tube cracked", PLUGGED):  # a plug at a hose's end is seen, if it is looked down so far
        return {"liner_or_kink": 0.08, "chips": 0.02, "grey_film": 0.23, "clean": 0.67}
    return {"liner_or_kink": 0.01, "chips": 0.02, "grey_film": 0.25, "clean": 0.72}


_INSIDE: Final[Mapping[str, Chances]] = {
    **{worn: {"vanes_short": 0.85, "ordinary": 0.13, "broken": 0.02} for worn in WORN},
    "oil in the pump": {"oil_paste": 0.85, "ordinary": 0.12, "broken": 0.03},
    "drive pad's oil seal leaks": {"oil_paste": 0.1, "ordinary": 0.85, "vanes_short": 0.05},
    "pump jammed by old carbon": {"foreign_carbon": 0.7, "broken": 0.28, "ordinary": 0.02},
    "sealant drawn into the pump": {"sealant": 0.7, "broken": 0.3},
    "pump body strained in a vice": {"vise_marks": 0.7, "ordinary": 0.3},
    # Wet carbon passes for paste.
    "pump wetted in a wash, seized": {"broken": 0.5, "ordinary": 0.32, "oil_paste": 0.18},
    "pump of the wrong hand, broken": {"broken": 0.75, "ordinary": 0.25},
    WRONG_HAND[1]: {"ordinary": 0.9, "vanes_short": 0.03, "broken": 0.07},
    "coupling sheared": {"ordinary": 0.6, "broken": 0.3, "vanes_short": 0.1},
    "pump overheated": {"ordinary": 0.68, "vanes_short": 0.2, "broken": 0.08, "oil_paste": 0.04},
    "pump inlet filter missing": {"ordinary": 0.77, "vanes_short": 0.2, "oil_paste": 0.03},
}
"""What is seen in a pump taken apart, by the fault."""


def _opened(case: Case, place: str) -> Chances:
    ordinary: Chances = {"ordinary": 0.93, "vanes_short": 0.05, "oil_paste": 0.02}
    return ordinary if _elsewhere(case, place) else _INSIDE.get(case.truth.fault, ordinary)


_IN_PORTS: Final[Mapping[str, Chances]] = {
    # Dust goes out with the air; where it lies loose a vane has begun to crumble.
    "pump worn": {"clean": 0.75, "oily": 0.05, "carbon": 0.2},
    "pump worn, its carbon in the inline filter": {"clean": 0.63, "oily": 0.05, "carbon": 0.32},
    # What went through it lies as paste in the outlet port; some has blown out, or lies behind the port's bend.
    "oil in the pump": {"clean": 0.17, "oily": 0.74, "carbon": 0.09},
    # The oil is at the drive and seldom in the ports: a beginning past the shaft, or a smear as the pump came off.
    "drive pad's oil seal leaks": {"clean": 0.82, "oily": 0.15, "carbon": 0.03},
    # Some couplings give way alone, with age or in the cold, and their bits stay at the drive; others because the rotor
    # broke up first.
    "coupling sheared": {"clean": 0.66, "oily": 0.05, "carbon": 0.29},
    "pump jammed by old carbon": {"clean": 0.16, "oily": 0.03, "carbon": 0.81},
    "pump wetted in a wash, seized": {"clean": 0.3, "oily": 0.36, "carbon": 0.34},
    "sealant drawn into the pump": {"clean": 0.42, "oily": 0.16, "carbon": 0.42},  # a smear of it passes for paste
    "pump of the wrong hand, broken": {"clean": 0.24, "oily": 0.03, "carbon": 0.73},
    WRONG_HAND[1]: {"clean": 0.88, "oily": 0.03, "carbon": 0.09},
    "pump body strained in a vice": {"clean": 0.87, "oily": 0.04, "carbon": 0.09},
    "pump overheated": {"clean": 0.76, "oily": 0.06, "carbon": 0.18},
    "outlet blocked": {"clean": 0.79, "oily": 0.06, "carbon": 0.15},  # its own dust stays in it
    "pump inlet filter missing": {"clean": 0.81, "oily": 0.08, "carbon": 0.11},
}
"""What a torch shows in the air ports of a closed pump off its pad, by the fault. Its drive is not looked at."""


def _torch(case: Case, place: str) -> Chances:
    pressure = case.world.description.duty == "pressure"
    if _is_here(case, place, "pump jammed by old carbon") and pressure:
        return {"clean": 0.26, "oily": 0.04, "carbon": 0.7}  # it came from the lines behind the pump, not by its inlet
    if not _elsewhere(case, place) and case.truth.fault in _IN_PORTS:
        return _IN_PORTS[case.truth.fault]
    # A little is smeared in as a pump comes off; one that breathes in the engine bay takes in some mist besides.
    oily = 0.06 if pressure else 0.04
    if _is(case, "water or ice in a line") and not pressure:
        oily = 0.09  # drawn through the pump as it thaws
    return {"clean": 0.97 - oily, "oily": oily, "carbon": 0.03}


def _each_source(case: Case, place: str) -> Chances:
    pumps = [part.id for part in case.world.description.parts_of("pump")]
    point = Point(1800.0)
    alone = [{**case.at(point), f"{other}.stopped": 1.0} for pump in pumps for other in pumps if other != pump]
    holds = case.world.solved([(point, extra) for extra in alone])["gauge"]
    sound = case.world.solved([(point, {f"{pump}.stopped": 1.0}) for pump in pumps])["gauge"]
    return _either(0.95 if (sound - holds).max() > 0.35 else 0.04, "one_does_not", "both_hold")


_USERS: Final = ("autopilot", "accessory", "de-ice boots", "door seal")
"""Kinds of part that live on the gyros' air and are no gyro."""


def _branches(case: Case, place: str) -> list[str]:
    """The lines to other users of the gyro air: to the one at the place, the place itself, or all where none is named.
    None where the user that is meant is not drawn."""
    d = case.world.description
    users = {part.id for part in d.parts if part.kind in _USERS}
    lines = {line.id: {line.start.partition(".")[0], line.end.partition(".")[0]} & users for line in d.lines}
    return [name for name, ends in lines.items() if ends and (not place or place == name or place in ends)]


def _without(case: Case, place: str) -> Chances:
    """The sweep again with a user's line capped where it leaves the others; where no place is named, each in turn."""
    points = [Point(rpm, step=i / 2) for i, rpm in enumerate((1000.0, 1800.0, 2400.0))]
    sound = case.world.solved([(point, {}) for point in points])["gauge"]
    found = case.world.solved([(point, case.at(point)) for point in points])["gauge"]
    if (sound - found).max() > 0.35:
        for line in _branches(case, place):
            capped = {f"{line}.open_fraction": 0.0, f"{line}.leak": 0.0, f"{line}.off": 0.0}
            reads = case.world.solved([(point, {**case.at(point), **capped}) for point in points])["gauge"]
            if (sound - reads).max() < 0.25:
                return _either(0.94, "recovers", "no_change")  # else the cap does not seal
    if case.truth.group == "water":
        return _either(0.15, "recovers", "no_change")  # thawed meanwhile
    if _is(case, "port left open at a tee"):
        return _either(0.08, "recovers", "no_change")  # the port beside it, found and capped with it
    if _is(case, "hose liner loose", "regulator seat held open", "gauge sticks"):
        return _either(0.07, "recovers", "no_change")  # these come and go of themselves
    if _is(case, "leak", "hose off"):
        return _either(0.04, "recovers", "no_change")  # a hose pushed home as its neighbour was undone
    return _either(0.02, "recovers", "no_change")


def _ports(case: Case, place: str) -> Chances:
    if _is_here(case, place, "port left open at a tee"):
        return {"one_open": 0.88, "line_off": 0.03, "all_closed": 0.09}
    if _is(case, "hose off"):
        return {"line_off": 0.86, "one_open": 0.06, "all_closed": 0.08}
    if _is(case, "leak"):
        return {"line_off": 0.04, "one_open": 0.03, "all_closed": 0.93}  # slack on its port and taken for off
    open_, off = (0.03, 0.015) if _worked(case) else (0.015, 0.007)
    return {"one_open": open_, "line_off": off, "all_closed": 1.0 - open_ - off}


def _traced(case: Case, place: str) -> Chances:
    if _is(case, "gauge lines crossed"):
        return _either(0.92, "swapped", "as_mapped")
    if _is(case, EXCHANGED):
        return _either(0.88, "at_instrument", "as_mapped")
    return _either(0.035 if _worked(case) else 0.015, "swapped", "as_mapped")  # a drawing that is out of date


def _marking(case: Case, place: str) -> Chances:
    if _is_here(case, place, *WRONG_HAND):
        return _either(0.94, "wrong_hand", "matches")
    return _either(0.02 if "pump changed" in case.contexts else 0.008, "wrong_hand", "matches")


def _pump_ports(case: Case, place: str) -> Chances:
    if _is_here(case, place, "fitting cracked at the pump"):
        return _either(0.85, "cracked", "sound")
    if _is_here(case, place, "pump body strained in a vice"):
        return _either(0.12, "cracked", "sound")
    return _either(0.03 if "pump changed" in case.contexts else 0.015, "cracked", "sound")  # a scratch, a casting line


def _pad(case: Case, place: str) -> Chances:
    if _is_here(case, place, "drive pad's oil seal leaks"):
        return {"from_drain": 0.86, "from_joint": 0.06, "dry": 0.08}
    if _is_here(case, place, "oil in the pump"):
        return {"from_drain": 0.6, "from_joint": 0.08, "dry": 0.32}  # some of it goes in and never comes out below
    joint = 0.08 if "pump changed" in case.contexts else 0.05
    return {"from_drain": 0.025, "from_joint": joint, "dry": 0.975 - joint}


def _foam_seen(case: Case, place: str) -> Chances:
    if _is_here(case, place, "regulator filter clogged"):
        return {"clogged": 0.87, "clean": 0.125, "missing": 0.005}
    if _is_here(case, place, "regulator filter missing"):
        return {"missing": 0.96, "clean": 0.03, "clogged": 0.01}
    clogged = 0.14 if "smoked in" in case.contexts else 0.07
    if _is_here(case, place, "regulator seat held open"):
        clogged = 0.2  # crumbs of foam are one thing that beds in a seat
    return {"clogged": clogged, "clean": 0.996 - clogged, "missing": 0.004}


def _warmed(case: Case, place: str) -> Chances:
    if _is(case, "ice at the regulator"):
        return _either(0.87, "right", "same")
    if _is(case, "water or ice in a line"):
        return _either(0.78, "right", "same")  # some lies on in a low loop as water
    if _is(case, "intake filter wet"):
        return _either(0.5, "right", "same")
    if _is(case, *STANDING, "hose off"):
        return _either(0.003, "right", "same")
    if _is(case, "hose liner loose", "regulator seat held open", "gauge sticks"):
        return _either(0.09, "right", "same")  # these come and go of themselves
    if _is(case, "instrument bearings worn", "instrument dirty inside"):
        return _either(0.14 if "cold start" in case.contexts else 0.05, "right", "same")  # stiff when cold
    if _is(case, "nothing wrong") and _remarked(case, "ai_late_erect_cold", "gauge_slow_rise"):
        return _either(0.6, "right", "same")  # grease and oil are stiff in the cold, in a sound aircraft too
    return _either(0.03, "right", "same")


def _remarked(case: Case, *words: str) -> bool:
    return any(entry["symptom"] in words for entry in case.evidence.get("remarks", []))


def _coupling(case: Case, place: str) -> Chances:
    if _is_here(case, place, *STANDING):
        return _either(0.95, "stands_still", "turns")
    return _either(0.012, "stands_still", "turns")


def _mount(case: Case, place: str) -> Chances:
    """A spirit level and a hand on the instrument, the aircraft level."""
    if _is(case, NOT_LEVEL) and _here(case, place):
        return _either(0.92, "askew_or_loose", "level_and_tight")
    # A panel that gives on its shock mounts, or an aircraft that stands askew.
    askew = 0.06 if {"gyro changed", "panel work"} & set(case.contexts) else 0.04
    return _either(askew, "askew_or_loose", "level_and_tight")


def _instrument_ports(case: Case, place: str) -> Chances:
    if _is(case, PLUGGED) and _here(case, place):
        return {"plugged": 0.95, "exchanged": 0.005, "open_and_right": 0.045}
    if _is(case, EXCHANGED) and _here(case, place):
        return {"exchanged": 0.9, "plugged": 0.005, "open_and_right": 0.095}
    # A spare port is rightly plugged; letters at the ports are hard to read.
    plugged, exchanged = 0.01, 0.015 if _worked(case) else 0.01
    return {"plugged": plugged, "exchanged": exchanged, "open_and_right": 1.0 - plugged - exchanged}


_LOOKS: Final[Mapping[str, Callable[[Case, str], Chances]]] = {
    "records_look": _records,
    "engine_off_gauge": _pointer,
    "coast_down_listening": _coast,
    "test_gauge": _compared,
    "intake_filter_look": _filter,
    "inline_filter_look": lambda case, place: _two_stage_filter(case, place, "inline filter"),
    "inlet_filter_look": lambda case, place: _two_stage_filter(case, place, "inlet filter"),
    "regulator_filter_off": _foam,
    "regulator_seat_look": _seat,
    "swap_indicator": _swap,
    "indicator_bench": _bench,
    "case_suction": _case,
    "instrument_inlet_look": _inlet,
    "regulator_adjustment_check": _screw,
    "lamp_test": lambda case, place: _either(0.95 if _is(case, "lamp switch wrong") else 0.03, "wrong", "right"),
    "autopilot_test": _autopilot,
    "outlet_look": _outlet,
    "drain_look": _drain,
    "hose_squeeze": _hoses,
    "wear_port": _vanes,
    "coupling_turn": _turned,
    "section_suction": _sections,
    "shop_air": _soap,
    "borescope_lines": _scope,
    "pump_off_look": _torch,
    "pump_teardown": _opened,
    "stop_each_source": _each_source,
    "accessory_isolate": _without,
    "open_ports_look": _ports,
    "hose_map_trace": _traced,
    "pump_marking_look": _marking,
    "pump_port_look": _pump_ports,
    "pad_joint_look": _pad,
    "regulator_foam_look": _foam_seen,
    "warm_hangar_repeat": _warmed,
    "coupling_look": _coupling,
    "mount_look": _mount,
    "ports_look": _instrument_ports,
}


def _noisy(case: Case, true: float, sd: float) -> float:
    return float(true + sd * case.generator.standard_normal())


def _at_run_up(case: Case, place: str) -> list[Entry]:
    point = Point(1800.0, step=1.0)
    true = float(case.world.solved([(point, case.at(point))])["gauge"][0])
    entry = {
        "id": "asked run-up",
        "rpm": "1800 rpm",
        "reading": f"{reading_at(case, true, point)} inHg",
        "warm": True,
        "who": "mechanic",
    }
    return [("readings", entry)]


def _sweep(case: Case, place: str) -> list[Entry]:
    speeds = (700.0, 1000.0, 1200.0, 1500.0, 1800.0, 2100.0, 2400.0)
    points = [Point(rpm, step=i / 6) for i, rpm in enumerate(speeds)]
    true = case.world.solved([(point, case.at(point)) for point in points])["gauge"]
    readings = [reading_at(case, float(value), point) for value, point in zip(true, points, strict=True)]
    warm = begun_warm(case)
    return [
        ("sweeps", {"id": "asked sweep", "rpm": list(speeds), "reading": readings, "warm": warm, "who": "mechanic"})
    ]


def _across(case: Case, place: str) -> list[Entry]:
    point = Point(2400.0, step=1.0)
    seen = case.world.solved([(point, case.at(point))])
    true = float(seen[f"drop {place}"][0])
    if _is(case, PLUGGED) and _here(case, place):
        true = float(seen[f"at {place}.inlet"][0] - seen[f"at {place}.outlet"][0])  # the tees are in the hoses
    if _is(case, EXCHANGED) and _here(case, place) and case.generator.random() < 0.5:
        true = -true  # pressed against its stop; the other half turn the gauge round and read on
    entry = {
        "id": f"test gauge {place}",
        "check": "test_gauge_across_instrument",
        "place": place,
        "value": f"{max(_noisy(case, true, PRESSURE_SD), 0.0):.1f} inHg",
        "rpm": "2400 rpm",
    }
    return [("checks", entry)]


def _drop(case: Case, place: str) -> list[Entry]:
    part = next(part for part in case.world.description.parts if part.id == place)
    point = Point(2400.0, step=1.0)
    high = "dirty" if part.kind == "inline filter" else "air"
    seen = case.world.solved([(point, case.at(point))])
    true = float(seen[f"at {place}.{high}"][0] - seen[f"at {place}.clean"][0])
    value = f"{max(_noisy(case, true, 0.03), 0.0):.2f} inHg"
    return [
        (
            "checks",
            {"id": f"drop {place}", "check": "filter_drop", "place": place, "value": value, "rpm": "2400 rpm"},
        )
    ]


def _isolated(case: Case, place: str) -> list[Entry]:
    under = {f"{place}.capped": 1.0}
    out: list[Entry] = []
    for rpm in (1000.0, 1800.0, 2400.0):
        point = Point(rpm, under=under)
        true = float(case.world.solved([(point, case.at(point))])["gauge"][0])
        out.append(
            (
                "readings",
                {
                    "id": f"{place} capped at {rpm:.0f}",
                    "reading": f"{reading_at(case, true, point)} inHg",
                    "rpm": f"{rpm:.0f} rpm",
                    "under": under,
                    "who": "mechanic",
                },
            )
        )
    return out


def _cover(case: Case, place: str) -> list[Entry]:
    part = place or case.world.description.parts_of("regulator")[0].id
    open_, shut = Point(1100.0), Point(1100.0, under={f"{part}.covered": 1.0})
    true = case.world.solved([(point, case.at(point)) for point in (open_, shut)])["gauge"]
    entry = {
        "id": "cover test",
        "check": "cover_test",
        "rpm": "1100 rpm",
        "before": f"{reading_at(case, float(true[0]), open_)} inHg",
        "covered": f"{reading_at(case, float(true[1]), shut)} inHg",
    }
    return [("checks", entry)]


def _flow(case: Case, place: str) -> list[Entry]:
    port = place if "." in place else f"{place}.gyro_side"
    true = case.world.shop_flow(port, 5.0, case.at(Point(2400.0, step=1.0)))
    entry = {
        "id": "workshop suction",
        "check": "workshop_suction",
        "place": place,
        "suction": "5.0 inHg",
        "value": f"{max(_noisy(case, true, 0.05 * true + 0.05), 0.0):.1f} cfm",
    }
    return [("checks", entry)]


_MEASURED: Final[Mapping[str, Callable[[Case, str], list[Entry]]]] = {
    "gauge_at_run_up": _at_run_up,
    "sweep": _sweep,
    "test_gauge_across_instrument": _across,
    "filter_drop": _drop,
    "isolate_gyro": _isolated,
    "cover_test": _cover,
    "workshop_suction": _flow,
}
