"""Figures of the study: calibration, misses, levels, each with a bootstrap interval over cases."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from benches.study_rows import ARMS, Row, Said

BOOTSTRAPS: Final = 300
UNDER: Final = 0.01
"""A truth given less than this is as good as ruled out."""
SAID: Final[Mapping[str, str]] = {"indication only": "indication", "nothing wrong": "no fault told of"}


@dataclass(frozen=True, slots=True)
class Judged:
    """One answer beside its truth."""

    said: Said
    family: str
    level: str

    @property
    def right(self) -> bool:
        return self.said.best == self.family

    @property
    def true_share(self) -> float:
        return self.said.probability.get(self.family, 0.0)

    @property
    def level_right(self) -> bool:
        return self.said.level == SAID.get(self.level, self.level)


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


def _said_under(rows: Sequence[Judged]) -> float:
    """What the answers themselves give to repairs under 1 in 100: how often a perfectly calibrated answer would leave
    the true one there. A share of truths under it is an error only as far as it is above this."""
    return float(np.mean([sum(p for p in row.said.probability.values() if p < UNDER) for row in rows]))


def share(test: Callable[[Any], bool]) -> Callable[[Sequence[Any]], float]:
    return lambda rows: float(np.mean([test(row) for row in rows]))


def _ece(rows: Sequence[Judged]) -> float:
    return calibration_error([row.said.sure for row in rows], [row.right for row in rows])


def _too_modest(rows: Sequence[Judged]) -> float:
    """Share right less mean confidence: above nothing the answers say less than they know."""
    return float(np.mean([float(row.right) - row.said.sure for row in rows]))


def _log_score(rows: Sequence[Judged]) -> float:
    return float(np.mean([np.log(max(row.true_share, 1e-4)) for row in rows]))


def answers(rows: Sequence[Judged]) -> dict[str, Any]:
    """Figures of answers to cases whose fault the modes hold."""
    named = [row for row in rows if row.said.level and row.level != "nothing shows"]
    return {
        "cases": len(rows),
        "calibration error": interval(rows, _ece),
        "log score": interval(rows, _log_score),
        "true cause under 1 in 100": interval(rows, share(lambda row: row.true_share < UNDER)),
        "given to causes under 1 in 100": interval(rows, _said_under),
        "first is right": interval(rows, share(lambda row: row.right)),
        "level named": interval(rows, share(lambda row: bool(row.said.level))),
        "level right when named": interval(named, share(lambda row: row.level_right)) if named else None,
        "none first": interval(rows, share(lambda row: row.said.best == "none")),
        "calibration error of a perfect answer": perfect_error([row.said.sure for row in rows]),
        "more often right than it says": interval(rows, _too_modest),
        "roughly counted": interval(rows, share(lambda row: row.said.rough)),
        "seconds, median, on a busy machine": round(float(np.median([row.said.seconds for row in rows])), 3),
    }


def outside(rows: Sequence[Judged]) -> dict[str, Any]:
    """Figures of answers to cases whose fault no mode describes."""
    return {
        "cases": len(rows),
        "none or undecided": interval(rows, share(lambda row: row.said.undecided or row.said.best == "none")),
        "none first": interval(rows, share(lambda row: row.said.best == "none")),
    }


def figures(rows: Sequence[Row], refined: bool) -> dict[str, Any]:
    """Every arm's figures, of the bank's answers or of the refined ones."""
    found: dict[str, Any] = {}
    for arm in ARMS:
        told = [(row, row.refined if refined else row.first) for row in rows if row.arm == arm]
        own = [Judged(said, row.family, row.level) for row, said in told if said is not None]
        if own:
            found[arm] = outside(own) if arm == "fault outside" else answers(own)
    return found


def ruled_out(rows: Sequence[Row]) -> list[dict[str, Any]]:
    """The cases whose truth the refined answer gives less than :data:`UNDER`, to look at: the case, what was wrong, and
    what was said instead."""
    found = []
    for row in rows:
        said = row.refined
        if said is None or row.arm == ARMS[-1] or said.probability.get(row.family, 0.0) >= UNDER:
            continue
        found.append(
            {
                "truth": row.arm,
                "aircraft": row.layout,
                "case": row.number,
                "fault": row.fault,
                "repair": row.family,
                "given": round(said.probability.get(row.family, 0.0), 5),
                "first": said.best,
                "given to the first": round(said.sure, 3),
            }
        )
    return found


def equal_figures(rows: Sequence[Row]) -> dict[str, Any]:
    """'Undecided' where the two leading causes are equal."""
    looked = [row for row in rows if row.looked]
    met = [row.equal for row in looked if row.equal is not None]
    return {
        "answers looked at": len(looked),
        "with two equal causes": len(met),
        "undecided kept": interval(met, share(lambda equal: equal.undecided)) if met else None,
        "largest total variation over checks still possible": round(max((own.apart for own in met), default=0.0), 4),
        "checks still possible, median": float(np.median([own.possible for own in met])) if met else None,
        "pairs": sorted({" / ".join(own.causes) for own in met}),
    }


def headline(study: Mapping[str, Any]) -> dict[str, Any]:
    """What is aimed at, of a whole study as ``diagnosis_study.json`` holds it: refined answers, then the policy."""
    given, policy = study["refined answers"], study["policy"]
    found: dict[str, Any] = {"cases": study["cases judged"], "seed": study["seed"]}
    for arm in ARMS[:-1]:
        own = given[arm]
        found[arm] = {name: own[name] for name in ("calibration error", "true cause under 1 in 100")}
    found["model true"]["level right when named"] = given["model true"]["level right when named"]
    found[ARMS[-1]] = given[ARMS[-1]]["none or undecided"]
    found["undecided kept where two causes are equal"] = study["two equal causes"]["undecided kept"]
    found["right part within three when stopped"] = policy["proposed"]["right part within three when stopped"]
    found["minutes against cheapest first"] = policy["interval"]
    found["the same, every minute figure off by half"] = study["policy, every minute figure off by half"]["interval"]
    return found
