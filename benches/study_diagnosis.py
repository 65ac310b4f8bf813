"""How honest and how useful the diagnosis is, on generated cases with known truths.

Run ``python -m benches.study_diagnosis [CASES] [FIRST_SEED] [REFINED_EVERY] [PATH_EVERY]``; it
writes ``benches/diagnosis_study.json``. The cases
come from ``tests/generator``, which knows nothing of the diagnosis, on four invented aircraft whose banks are kept.
First answers come from the bank. One whose leading cause is roughly counted is refined, as the program does before it
says anything final: that is the answer *as given*. The policy of checks is followed on a share, and on another share
it is looked whether 'undecided' stands where two causes are equal. Intervals are percentiles of 300 bootstrap draws
over cases. All cases are simulated: this measures the arithmetic, and what wrong assumptions cost, not the trade's own
faults.
"""

from __future__ import annotations

import json
import pathlib
import sys
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any, Final

import numpy as np

from benches.equal_causes import equal_pairs
from tests.generator.cases import Aircraft, Arm, Case, make, study
from tests.generator.workshop import known, perform
from tests.generator.world import packed_for
from vanewise.aircraft.layouts import make as layout
from vanewise.aircraft.reading import read_description
from vanewise.diagnosis.infer import Options, State, answer, infer
from vanewise.diagnosis.modes import MODES
from vanewise.diagnosis.next_check import candidates
from vanewise.diagnosis.reading import read_evidence
from vanewise.diagnosis.types import Causes

DEMO = pathlib.Path(__file__).resolve().parents[1] / "src" / "vanewise" / "demo"
STUDY_SEED: Final = 7_340_000
"""Never used while anything was built; development has seeds below 1,000."""
QUICK = Options(weights=False, next_checks=False)
ASKING = Options(weights=False)
MOST_STEPS: Final = 40
BOOTSTRAPS: Final = 300

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
    "outlet blocked": "outlet",
    "leak": "leak",
    "hose off": "leak",
    "hose collapsed at the pump": "hose",
    "instrument line pinched": "line",
    "intake filter clogged": "intake filter",
    "inline filter clogged": "inline filter",
    "pump inlet filter clogged": "inlet filter",
    "regulator seat held open": "regulator seat",
    "regulator set low": "regulator setting",
    "regulator set high": "regulator setting",
    "regulator filter clogged": "regulator filter",
    "regulator stuck shut": "regulator",
    "instrument bearings worn": "instrument",
    "instrument case leaks": "case leak",
    "instrument jets choked": "instrument",
    "gauge reads wrong": "gauge",
    "gauge sticks": "gauge",
    "lamp switch wrong": "lamp",
    "check valve stuck open": "check valve",
}
"""What would be repaired, in the families of the failure modes."""


HIDDEN: Final = frozenset({"debris_left_in_lines", "pad_seal_leak", "pad_gasket_wrong"})
"""Sources that a truth does not name: the generator says that oil is in the pump, not which seal it came past."""


def family_of(case: Case) -> str:
    """What would be repaired. In pressure duty nothing can nest in the outlet: what is shut there is the delivery
    hose with its fitting, which is what opening 'the hose at the pump' finds."""
    if case.truth.fault == "outlet blocked" and case.world.description.duty == "pressure":
        return "hose"
    return FAMILY.get(case.truth.fault, "none")


def label(modes: Sequence[str]) -> str:
    """Family a hypothesis stands for: its source's, or of what shows where no truth names the source."""
    hidden = modes[0] in HIDDEN and len(modes) > 1
    return MODES[modes[1] if hidden else modes[0]].family


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


@dataclass(slots=True)
class Row:
    """What came of one case."""

    arm: str
    layout: str
    fault: str
    family: str
    level: str
    probability: dict[str, float]
    undecided: bool
    none: float
    said_level: str
    seconds: float
    rough: bool = False
    refined: dict[str, float] | None = None
    equal: tuple[tuple[str, str], ...] | None = None
    """Pairs of equal causes; None where nobody looked."""

    @property
    def best(self) -> str:
        return max(self.probability, key=lambda name: self.probability[name])

    @property
    def true_share(self) -> float:
        return self.probability.get(self.family, 0.0)


def first(case: Case, *, refine: bool = False, options: Options = QUICK) -> tuple[State, Causes]:
    """The answer to a case as it stands."""
    evidence = read_evidence(case.text(), "generated")
    state = infer(case.world.description, evidence, seed=0, refine=refine, options=options)
    return state, answer(state, 0, options)


def judged(case: Case, refine: bool, look_for_equals: bool = False) -> Row:
    start = time.perf_counter()
    state, causes = first(case)
    seconds = time.perf_counter() - start
    row = Row(
        arm=case.arm,
        layout=case.layout,
        fault=case.truth.fault,
        family=family_of(case),
        level=case.truth.level,
        probability=by_family(causes),
        undecided=causes.undecided,
        none=next((c.probability for c in causes.causes if c.id == "none_of_these"), 0.0),
        said_level=causes.level,
        seconds=seconds,
        rough=causes.causes[0].count_is_rough,
    )
    if look_for_equals:
        row.equal = equal_pairs(state, causes)
    if refine or (row.rough and case.arm != "fault outside"):
        row.refined = by_family(first(case, refine=True)[1])
    return row


# ---- the policy of checks ------------------------------------------------------------------------------------------


@dataclass(slots=True)
class Path:
    """Checks done in order until the policy stopped: minutes with shared access, and what it ended with."""

    minutes: float = 0.0
    checks: list[str] = field(default_factory=list)
    spent: list[float] = field(default_factory=list)
    isolated: bool = False
    right: bool = False
    in_three: bool = False
    level_right: bool | None = None
    """None where no level was named or the truth has none."""


def _stops(causes: Causes) -> bool:
    """The stop rule of both policies: decided, and either seen directly or at least 19 in 20."""
    leading = max(by_family(causes).values())
    return leading >= 0.95


def follow(case: Case, cheapest_first: bool) -> Path:
    """Follow the proposed check (or the cheapest possible one) until the stop rule holds or nothing is left."""
    case.evidence = json.loads(case.text())
    opened: set[str] = set()
    path = Path()
    skipped: list[str] = []
    for _ in range(MOST_STEPS):
        options = Options(
            weights=False, next_checks=not cheapest_first, not_possible=tuple(skipped), opened=tuple(sorted(opened))
        )
        state, causes = first(case, options=options)
        if _stops(causes):
            path.isolated = True
            break
        chosen = _cheapest(state, causes, opened, skipped) if cheapest_first else _proposed(causes)
        if chosen is None:
            break
        check, place, minutes, access = chosen
        if not known(check):
            skipped.append(check)
            continue
        spent = minutes + sum(cost for name, cost in access if name not in opened)
        path.minutes += spent
        path.spent.append(spent)
        opened |= {name for name, _ in access}
        path.checks.append(f"{check} {place}".strip())
        for section, entry in perform(case, check, place):
            case.evidence.setdefault(section, []).append(entry)
        skipped += [check] if check == "sweep" else []
    last = first(case)[1]
    families = by_family(last)
    if last.level and case.truth.level != "nothing shows":
        path.level_right = last.level == SAID.get(case.truth.level, case.truth.level)
    order = sorted(families, key=lambda name: -families[name])
    truth = family_of(case)
    path.right, path.in_three = order[0] == truth, truth in order[:3]
    return path


Chosen = tuple[str, str, float, tuple[tuple[str, float], ...]]


def _access(names: Sequence[str]) -> tuple[tuple[str, float], ...]:
    from vanewise.diagnosis.checks import ACCESS_MINUTES

    return tuple((name, ACCESS_MINUTES[name]) for name in names)


def _proposed(causes: Causes) -> Chosen | None:
    if not causes.next_checks:
        return None
    best = causes.next_checks[0]
    return best.id, best.place, best.minutes, _access(best.access)


def _cheapest(state: State, causes: Causes, opened: set[str], skipped: Sequence[str]) -> Chosen | None:
    """The cheapest check that is possible and not done, the same minutes and preconditions."""
    possible = candidates(state.bank.packed.description, state.prepared, causes.causes, skipped)
    if not possible:
        return None

    def cost(candidate: Any) -> float:
        check = candidate.check
        return float(check.minutes + sum(c for name, c in _access(check.access) if name not in opened))

    best = min(possible, key=lambda candidate: (cost(candidate), candidate.id))
    return best.check.id, best.place, best.check.minutes, _access(best.check.access)


# ---- figures -------------------------------------------------------------------------------------------------------


def calibration_error(confidence: Sequence[float], right: Sequence[bool], bins: int = 10) -> float:
    """Expected calibration error of the first cause over bins of equal count."""
    order = np.argsort(confidence, kind="stable")
    sure, hit = np.array(confidence)[order], np.array(right, dtype=float)[order]
    parts = [part for part in np.array_split(np.arange(len(sure)), bins) if len(part)]
    return float(sum(len(part) * abs(sure[part].mean() - hit[part].mean()) for part in parts) / len(sure))


def perfect_error(confidence: Sequence[float], draws: int = BOOTSTRAPS) -> dict[str, float]:
    """What :func:`calibration_error` comes to when every confidence is exactly right: with few cases it is not nothing.

    Truths are drawn from the confidences themselves (consistency resampling, Broecker and Smith, Weather and
    Forecasting 22, 2007, page 651).
    """
    generator = np.random.default_rng(2)
    sure = np.array(confidence)
    found = [calibration_error(sure.tolist(), (generator.random(len(sure)) < sure).tolist()) for _ in range(draws)]
    return {"mean": round(float(np.mean(found)), 4), "95th percentile": round(float(np.quantile(found, 0.95)), 4)}


def interval(rows: Sequence[Any], figure: Callable[[Sequence[Any]], float]) -> dict[str, float | None]:
    """A figure with its 95 % bootstrap interval over cases; None and draws left out where it has no finite value."""
    generator = np.random.default_rng(0)
    draws = [figure([rows[i] for i in generator.integers(0, len(rows), len(rows))]) for _ in range(BOOTSTRAPS)]
    known = [draw for draw in draws if np.isfinite(draw)]
    if not known:
        return {"value": None, "low": None, "high": None}
    low, high = np.quantile(known, (0.025, 0.975))
    value = figure(rows)
    found = {"value": value if np.isfinite(value) else None, "low": float(low), "high": float(high)}
    return {name: number if number is None else round(number, 4) for name, number in found.items()}


def _ece(rows: Sequence[Row]) -> float:
    return calibration_error([max(row.probability.values()) for row in rows], [row.best == row.family for row in rows])


def _too_modest(rows: Sequence[Row]) -> float:
    """Share right less mean confidence: above nothing the answers say less than they know."""
    return float(np.mean([float(row.best == row.family) - max(row.probability.values()) for row in rows]))


def _log_score(rows: Sequence[Row]) -> float:
    return float(np.mean([np.log(max(row.true_share, 1e-4)) for row in rows]))


def _share(test: Callable[[Row], bool]) -> Callable[[Sequence[Row]], float]:
    return lambda rows: float(np.mean([test(row) for row in rows]))


SAID: Final[Mapping[str, str]] = {"indication only": "indication"}


def level_right(row: Row) -> bool:
    """The level named is the true one, or none was named ('as far as the evidence allows and no further')."""
    return row.said_level == SAID.get(row.level, row.level)


def figures(rows: Sequence[Row]) -> dict[str, Any]:
    """Everything the study reports about first answers, arm by arm."""
    found: dict[str, Any] = {}
    for arm in ARMS:
        own = [row for row in rows if row.arm == arm]
        if not own:
            continue
        if arm == "fault outside":
            found[arm] = {
                "cases": len(own),
                "none or undecided": interval(own, _share(lambda r: r.undecided or r.best == "none")),
                "none first": interval(own, _share(lambda r: r.best == "none")),
            }
            continue
        told = [row for row in own if row.said_level and row.level != "nothing shows"]
        found[arm] = {
            "cases": len(own),
            "calibration error": interval(own, _ece),
            "log score": interval(own, _log_score),
            "true cause under 1 in 100": interval(own, _share(lambda r: r.true_share < 0.01)),
            "first is right": interval(own, _share(lambda r: r.best == r.family)),
            "level named": interval(own, _share(lambda r: bool(r.said_level))),
            "level right when named": interval(told, _share(level_right)) if told else None,
            "none first": interval(own, _share(lambda r: r.best == "none")),
        }
        given = [_with(row, row.refined) if row.refined is not None else row for row in own]
        found[arm] |= {
            "calibration error of a perfect answer": perfect_error([max(row.probability.values()) for row in own]),
            "more often right than it says": interval(own, _too_modest),
            "as given": {
                "refined": sum(row.refined is not None for row in own),
                "calibration error": interval(given, _ece),
                "calibration error of a perfect answer": perfect_error([max(r.probability.values()) for r in given]),
                "more often right than it says": interval(given, _too_modest),
                "true cause under 1 in 100": interval(given, _share(lambda r: r.true_share < 0.01)),
                "first is right": interval(given, _share(lambda r: r.best == r.family)),
                "log score": interval(given, _log_score),
            },
        }
    return found


def _with(row: Row, probability: dict[str, float]) -> Row:
    return replace(row, probability=probability)


def _mean_of(paths: Sequence[Path], test: Callable[[Path], bool]) -> dict[str, float | None] | None:
    return interval(paths, lambda rows: float(np.mean([test(path) for path in rows]))) if paths else None


def equal_figures(rows: Sequence[Row]) -> dict[str, Any]:
    """'Undecided' where two causes are equal and one of them leads."""
    looked = [row for row in rows if row.equal is not None]
    met = [row for row in looked if row.equal]
    return {
        "answers looked at": len(looked),
        "with two equal causes": len(met),
        "undecided kept": interval(met, _share(lambda r: r.undecided)) if met else None,
    }


def path_figures(paths: Sequence[tuple[Path, Path]]) -> dict[str, Any]:
    """Minutes to isolate, proposed against cheapest first; not isolated counts as infinite."""

    def minutes(which: int) -> list[float]:
        return [pair[which].minutes if pair[which].isolated else float("inf") for pair in paths]

    def ratio(rows: Sequence[tuple[Path, Path]]) -> float:
        ours = np.median([a.minutes if a.isolated else np.inf for a, _ in rows])
        theirs = np.median([b.minutes if b.isolated else np.inf for _, b in rows])
        return float(ours / theirs) if np.isfinite(ours) and np.isfinite(theirs) else float("nan")

    def quantile(values: list[float], q: float) -> float | None:
        found = float(np.quantile(np.array(values), q, method="higher"))
        return round(found, 1) if np.isfinite(found) else None

    spread = interval(paths, ratio)
    found: dict[str, Any] = {"cases": len(paths), "median ratio": spread["value"], "interval": spread}
    for which, name in ((0, "proposed"), (1, "cheapest first")):
        own = [pair[which] for pair in paths]
        done = [path for path in own if path.isolated]
        found[name] = {
            "median minutes": quantile(minutes(which), 0.5),
            "90th percentile": quantile(minutes(which), 0.9),
            "isolated": interval(own, lambda rows: float(np.mean([path.isolated for path in rows]))),
            "wrong isolations": _mean_of(done, lambda path: not path.right),
            "right part within three when stopped": _mean_of(own, lambda path: path.in_three),
            "level right when named, when stopped": _mean_of(
                [path for path in own if path.level_right is not None], lambda path: bool(path.level_right)
            ),
        }
    return found


Keep = Callable[[dict[str, Any]], None]


def run(
    cases: int,
    seed: int,
    refined_every: int = 8,
    path_every: int = 8,
    keep: Keep = lambda found: None,
    equal_every: int = 4,
) -> tuple[list[Row], list[tuple[Path, Path]]]:
    """The whole study: half of the cases with the model true, the rest shared out.

    Cases that need the same bank stand together, so that each bank is built once. ``keep`` gets the figures so far,
    bank by bank, so that a run that is cut short is not lost.
    """
    aircraft = fleet()
    wanted: list[tuple[int, Case]] = []
    for place, arm in enumerate(ARMS):
        share = cases // 2 if arm == "model true" else cases // 8
        wanted += [(seed + place, case) for case in study(aircraft, seed + place, share, arm)]
    wanted.sort(key=lambda entry: (entry[1].layout, _changes(entry[1]), ARMS.index(entry[1].arm), entry[1].number))
    rows: list[Row] = []
    paths: list[tuple[Path, Path]] = []
    bank: tuple[Any, ...] = ()
    for own_seed, case in wanted:
        here = (case.layout, _changes(case))
        if bank and here != bank:
            keep(summary(rows, paths, cases, seed))
        bank = here
        inside = case.arm != "fault outside"
        turn = case.number // 4
        rows.append(judged(case, inside and turn % refined_every == 0, look_for_equals=turn % equal_every == 2))
        if case.arm == "model true" and case.number // 4 % path_every == 1:
            again = [make(aircraft[case.layout], own_seed, case.number, case.arm) for _ in range(2)]
            paths.append((follow(again[0], cheapest_first=False), follow(again[1], cheapest_first=True)))
    keep(summary(rows, paths, cases, seed))
    return rows, paths


def summary(rows: Sequence[Row], paths: Sequence[tuple[Path, Path]], cases: int, seed: int) -> dict[str, Any]:
    """All figures of the cases judged so far."""
    return {
        "cases asked for": cases,
        "cases judged": len(rows),
        "seed": seed,
        "first answers": figures(rows),
        "two equal causes": equal_figures(rows),
        "policy": path_figures(paths) if paths else {},
        "policy, every minute figure off by half": off_by_half(paths) if paths else {},
        "seconds a first answer, median, on a busy machine": round(float(np.median([row.seconds for row in rows])), 3),
    }


def off_by_half(paths: Sequence[tuple[Path, Path]]) -> dict[str, Any]:
    """The same paths, where every check really took from half to one and a half times its figure."""
    generator = np.random.default_rng(1)
    moved = []
    for pair in paths:
        factors = [{check: generator.uniform(0.5, 1.5) for check in path.checks} for path in pair]
        own = [
            replace(
                path, minutes=sum(factor[check] * spent for check, spent in zip(path.checks, path.spent, strict=True))
            )
            for path, factor in zip(pair, factors, strict=True)
        ]
        moved.append((own[0], own[1]))
    return path_figures(moved)


def _changes(case: Case) -> tuple[bool, bool]:
    kinds = {event["kind"] for event in case.evidence.get("events", [])}
    return "pump_changed" in kinds, "regulator_adjusted" in kinds


def main() -> None:
    cases = int(sys.argv[1]) if len(sys.argv) > 1 else 2000
    seed = int(sys.argv[2]) if len(sys.argv) > 2 else STUDY_SEED
    refined_every = int(sys.argv[3]) if len(sys.argv) > 3 else 8
    path_every = int(sys.argv[4]) if len(sys.argv) > 4 else 8
    target = pathlib.Path(__file__).with_name("diagnosis_study.json")

    def keep(found: dict[str, Any]) -> None:
        target.write_text(json.dumps(found, indent=1) + "\n", encoding="utf-8")
        print(f"{found['cases judged']} of {cases}", flush=True)

    run(cases, seed, refined_every, path_every, keep)


if __name__ == "__main__":
    main()
