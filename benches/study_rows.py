"""One generated case put to the diagnosis: who is asked, what counts as right, and what came of it."""

from __future__ import annotations

import pathlib
import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

from benches.equal_causes import Equal, equal_leaders
from tests.generator.cases import Aircraft, Arm, Case
from tests.generator.world import packed_for
from vanewise.aircraft.layouts import make as layout
from vanewise.aircraft.reading import read_description
from vanewise.diagnosis.infer import Options, State, answer, infer
from vanewise.diagnosis.modes import MODES
from vanewise.diagnosis.modes.places import pump_side_lines
from vanewise.diagnosis.reading import read_evidence
from vanewise.diagnosis.types import Causes

DEMO = pathlib.Path(__file__).resolve().parents[1] / "src" / "vanewise" / "demo"
QUICK = Options(weights=False, next_checks=False)

ARMS: Final[tuple[Arm, ...]] = (
    "model true",
    "gauge biased",
    "other drive ratio",
    "defaults wrong",
    "fault outside",
)

FAMILY: Final[Mapping[str, str]] = {
    "pump worn": "pump",
    "pump worn, its carbon in the inline filter": "pump",
    "coupling sheared": "pump",
    "pump jammed by old carbon": "pump",
    "oil in the pump": "pump",
    "drive pad's oil seal leaks": "pad seal",
    "pump overheated": "pump",
    "pump wetted in a wash, seized": "pump",
    "sealant drawn into the pump": "pump",
    "pump body strained in a vice": "pump",
    "pump of the wrong hand, broken": "pump",
    "outlet blocked": "outlet",
    "leak": "leak",
    "hose off": "leak",
    "fitting cracked at the pump": "leak",
    "hidden tube cracked": "leak",
    "port left open at a tee": "leak",
    "hose collapsed at the pump": "hose",
    "hose liner loose": "hose",
    "water or ice in a line": "moisture",
    "ice at the regulator": "moisture",
    "instrument line pinched": "line",
    "intake filter clogged": "intake filter",
    "intake filter wet": "intake filter",
    "intake filter tarred": "intake filter",
    "intake filter missing": "intake filter",
    "intake filter's element displaced": "intake filter",
    "inline filter clogged": "inline filter",
    "inline filter missing or burst": "inline filter",
    "pump inlet filter missing": "inlet filter",
    "pump inlet filter clogged": "inlet filter",
    "regulator seat held open": "regulator seat",
    "regulator set low": "regulator setting",
    "regulator set high": "regulator setting",
    "regulator filter clogged": "regulator filter",
    "regulator filter missing": "regulator filter",
    "regulator stuck shut": "regulator",
    "regulator stuck open": "regulator",
    "instrument bearings worn": "instrument",
    "instrument dirty inside": "instrument",
    "instrument case leaks": "case leak",
    "instrument jets choked": "instrument",
    "gauge reads wrong": "gauge",
    "gauge sticks": "gauge",
    "gauge lines crossed": "gauge",
    "lamp switch wrong": "lamp",
    "check valve stuck open": "check valve",
    "check valve leaks": "check valve",
    "check valve stuck shut": "check valve",
    "instrument not level in its panel": "mounting",
    "plug left in an instrument's port": "line",
    "an instrument's hoses exchanged": "misrouting",
    "pump of the wrong hand, weak or dead from the first start": "pump",
    "nothing wrong": "nothing",
}
"""What would be repaired, in the families of the failure modes."""


HIDDEN: Final = frozenset({"debris_left_in_lines", "pad_seal_leak", "pad_gasket_wrong"})
"""Sources that a truth does not name: the generator says that oil is in the pump, not which seal it came past."""


def family_of(case: Case) -> str:
    """What would be repaired. In pressure duty nothing can nest in the outlet: what is shut there is the delivery
    hose with its fitting, which is what opening 'the hose at the pump' finds; and so is a line pinched on the pump's
    side of the regulator."""
    description = case.world.description
    if case.truth.fault == "outlet blocked" and description.duty == "pressure":
        return "hose"
    pump_side = {line.id for line in pump_side_lines(description)}
    if case.truth.fault == "instrument line pinched" and case.truth.part in pump_side:
        return "hose"
    return FAMILY.get(case.truth.fault, "none")


def label(modes: Sequence[str]) -> str:
    """Family a hypothesis stands for: its source's; where no truth names the source, that of the end of its chain."""
    return MODES[modes[-1] if modes[0] in HIDDEN else modes[0]].family


def by_family(causes: Causes) -> dict[str, float]:
    """Probability of each family; sums to 1."""
    found: dict[str, float] = {}
    for cause in causes.causes:
        total = sum(share.share for share in cause.hypotheses) or 1.0
        for share in cause.hypotheses:
            family = label(share.modes)
            found[family] = found.get(family, 0.0) + cause.probability * share.share / total
    return found


def fleet() -> dict[str, Aircraft]:
    """The four invented aircraft of the study."""
    found = {
        name: Aircraft(name, packed_for(read_description((DEMO / f"{name}.toml").read_text(encoding="utf-8"), name)))
        for name in ("d1_club_aircraft", "d2_pressure", "d3_case_leak")
    }
    found["twin pumps"] = Aircraft("twin pumps", packed_for(layout("suction-twin-pumps")))
    return found


@dataclass(frozen=True, slots=True)
class Said:
    """What one answer said."""

    probability: Mapping[str, float]
    """Of each family; sums to 1."""
    undecided: bool
    level: str
    rough: bool
    seconds: float

    @property
    def best(self) -> str:
        return max(self.probability, key=lambda name: self.probability[name])

    @property
    def sure(self) -> float:
        return max(self.probability.values())


@dataclass(frozen=True, slots=True)
class Row:
    """What came of one case: the bank's answer, and the refined one that replaces it."""

    arm: str
    layout: str
    number: int
    fault: str
    family: str
    level: str
    first: Said
    refined: Said | None
    equal: Equal | None = None
    """The two leading causes where they are equal by all that was read."""
    looked: bool = False
    """Whether anybody looked for two equal causes."""


def first(case: Case, *, refine: bool = False, options: Options = QUICK) -> tuple[State, Causes]:
    """The answer to a case as it stands."""
    evidence = read_evidence(case.text(), "generated")
    state = infer(case.world.description, evidence, seed=0, refine=refine, options=options)
    return state, answer(state, 0, options)


def said(case: Case, refine: bool) -> Said:
    start = time.perf_counter()
    causes = first(case, refine=refine)[1]
    seconds = time.perf_counter() - start
    return Said(by_family(causes), causes.undecided, causes.level, causes.causes[0].count_is_rough, seconds)


def judged(case: Case, look_for_equals: bool = False) -> Row:
    """Both answers to a case. Two equal causes are looked for with its sweep and cruise reading alone."""
    row = Row(
        arm=case.arm,
        layout=case.layout,
        number=case.number,
        fault=case.truth.fault,
        family=family_of(case),
        level=case.truth.level,
        first=said(case, refine=False),
        refined=said(case, refine=True),
    )
    if not look_for_equals:
        return row
    kept = case.evidence
    case.evidence = {key: kept[key] for key in ("title", "conditions", "sweeps", "readings") if key in kept}
    equal = equal_leaders(*first(case))
    case.evidence = kept
    return replace(row, equal=equal, looked=True)
