"""Checks followed one after the other until the cause is found, in the proposed order and cheapest first."""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from typing import Any, Final

import numpy as np

from benches.study_figures import SAID, interval
from benches.study_rows import QUICK, by_family, family_of, first
from tests.generator.cases import Case
from tests.generator.workshop import known, perform
from vanewise.diagnosis.checks import ACCESS_MINUTES
from vanewise.diagnosis.infer import Options, State, answer
from vanewise.diagnosis.next_check import candidates
from vanewise.diagnosis.stopping import STOP_AT
from vanewise.diagnosis.types import Causes

MOST_STEPS: Final = 40


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
    case: tuple[str, int] = ("", 0)
    """Aircraft and number."""
    fault: str = ""
    truth: str = ""
    """The repair that was due."""
    given: dict[str, float] = field(default_factory=dict)
    """What each repair was given when it stopped."""


def _stops(causes: Causes) -> bool:
    """The stop rule of both policies: at least 19 in 20 for one repair, well counted."""
    return max(by_family(causes).values()) >= STOP_AT and not causes.causes[0].count_is_rough


def _given(case: Case, options: Options) -> tuple[State, Causes]:
    """The answer as it is given: refined where the bank's is roughly counted or would stop the asking."""
    state, causes = first(case, options=replace(options, next_checks=False))
    if causes.causes[0].count_is_rough or max(by_family(causes).values()) >= STOP_AT:
        return first(case, refine=True, options=options)
    return state, answer(state, 0, options)


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
        state, causes = _given(case, options)
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
    last = _given(case, QUICK)[1]
    families = by_family(last)
    if last.level and case.truth.level != "nothing shows":
        path.level_right = last.level == SAID.get(case.truth.level, case.truth.level)
    order = sorted(families, key=lambda name: -families[name])
    truth = family_of(case)
    path.right, path.in_three = order[0] == truth, truth in order[:3]
    path.case, path.fault, path.truth, path.given = (case.layout, case.number), case.truth.fault, truth, families
    return path


Chosen = tuple[str, str, float, tuple[tuple[str, float], ...]]


def _access(names: Sequence[str]) -> tuple[tuple[str, float], ...]:
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


# ---- figures ---------------------------------------------------------------------------------------------------


def _mean_of(paths: Sequence[Path], test: Callable[[Path], bool]) -> dict[str, float | None] | None:
    return interval(paths, lambda rows: float(np.mean([test(path) for path in rows]))) if paths else None


def _told(path: Path) -> dict[str, Any]:
    """A path to look at: the case, what was wrong, what it ended with and by which checks."""
    ended = max(path.given, key=lambda name: path.given[name])
    return {
        "aircraft": path.case[0],
        "case": path.case[1],
        "fault": path.fault,
        "repair": path.truth,
        "given": round(path.given.get(path.truth, 0.0), 5),
        "ended with": ended,
        "given to that": round(path.given[ended], 3),
        "checks": path.checks,
    }


def to_look_at(paths: Sequence[tuple[Path, Path]]) -> dict[str, Any]:
    """The paths in the proposed order that ended with the wrong repair, or without one."""
    own = [path for path, _ in paths]
    return {
        "wrongly isolated": [_told(path) for path in own if path.isolated and not path.right],
        "not isolated": [_told(path) for path in own if not path.isolated],
    }


def path_figures(paths: Sequence[tuple[Path, Path]]) -> dict[str, Any]:
    """Minutes to isolate, proposed against cheapest first; not isolated counts as infinite."""

    def minutes(which: int) -> list[float]:
        return [pair[which].minutes if pair[which].isolated else float("inf") for pair in paths]

    def ratio(rows: Sequence[tuple[Path, Path]]) -> float:
        ours = np.median([a.minutes if a.isolated else np.inf for a, _ in rows])
        theirs = np.median([b.minutes if b.isolated else np.inf for _, b in rows])
        return float(ours / theirs) if np.isfinite(ours) and 0.0 < theirs < np.inf else float("nan")

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
