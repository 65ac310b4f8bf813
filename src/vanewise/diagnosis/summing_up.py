"""Hypotheses summed up: by source, by level, by repair, and the group that is not told apart."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

import numpy as np

from vanewise.diagnosis.hypotheses import Hypothesis, Member
from vanewise.diagnosis.modes import MODES
from vanewise.diagnosis.modes.places import FEEDS_ONE
from vanewise.diagnosis.posterior import Posterior
from vanewise.diagnosis.types import Cause
from vanewise.network.types import Floats

GROUP_SHARE: Final = 0.90

_ONE_SOURCE: Final = frozenset({"coupling_sheared", "hose_off", "lines_misrouted", "pump_turns_wrong_way"})
"""Modes that take out one source of several."""

_LEVEL_ORDER: Final = (
    "supply dead",
    "supply high",
    "supply weak",
    "one instrument",
    "indication",
    "no fault told of",
    "unknown",
)


def source_matrix(hypotheses: Sequence[Hypothesis]) -> tuple[tuple[str, ...], Floats]:
    """Source modes in canonical order, and the share of each hypothesis that counts for each, (modes, hypotheses).

    The two members of a pair are each a source, half and half.
    """
    named = {mode for hypothesis in hypotheses for mode in hypothesis.mode_ids}
    order = [mode for mode in MODES if mode in named]
    matrix = np.zeros((len(order), len(hypotheses)))
    for column, hypothesis in enumerate(hypotheses):
        if hypothesis.kind == "pair":
            for mode in hypothesis.mode_ids:
                matrix[order.index(mode), column] += 0.5
        else:
            matrix[order.index(hypothesis.source.id), column] = 1.0
    keep = matrix.sum(axis=1) > 0.0
    return tuple(mode for mode, kept in zip(order, keep, strict=True) if kept), matrix[keep]


def presence(posterior: Posterior) -> Mapping[str, float]:
    """Probability that each mode is there at all, as source, victim or second fault."""
    found: dict[str, float] = {}
    for hypothesis, probability in zip(posterior.hypotheses, posterior.probability.tolist(), strict=True):
        for mode in dict.fromkeys(hypothesis.mode_ids):
            found[mode] = found.get(mode, 0.0) + probability
    return found


def group_of(found: Sequence[Cause], share: float = GROUP_SHARE) -> tuple[str, ...]:
    """The smallest set of causes that shares ``share`` of the probability."""
    total = 0.0
    names: list[str] = []
    for cause in found:
        names.append(cause.id)
        total += cause.probability
        if total >= share - 1e-12:
            break
    return tuple(names)


def level_of(hypothesis: Hypothesis, sources: int = 1) -> str:
    """How the fault shows: the gravest level of its members. One of several pumps lost leaves a weak supply."""
    at = [place for member in hypothesis.members if member.mode.id in _ONE_SOURCE for place in member.places]
    lost = {place.part for place in at if place.among}  # pumps: a hose that is off may be that of a pump lost already
    several = 1 if len(lost) >= sources else sources  # with every pump lost it is as with one
    return min((_level_of_member(member, several) for member in hypothesis.members), key=_LEVEL_ORDER.index)


def _level_of_member(member: Member, sources: int) -> str:
    level = member.mode.level
    if level == "supply dead" and sources > 1 and member.mode.id in _ONE_SOURCE:
        return "supply weak"
    if level == "supply weak" and all(place.note == FEEDS_ONE for place in member.places):
        return "one instrument"
    return level


def levels(posterior: Posterior, sources: int = 1) -> dict[str, float]:
    """Probability of each level; sums to 1."""
    found = dict.fromkeys(_LEVEL_ORDER, 0.0)
    for hypothesis, probability in zip(posterior.hypotheses, posterior.probability.tolist(), strict=True):
        found[level_of(hypothesis, sources)] += probability
    return found


def repairs(posterior: Posterior) -> dict[str, float]:
    """Probability of each family of causes that call for the same repair, most probable first; sums to 1."""
    modes, matrix = source_matrix(posterior.hypotheses)
    found: dict[str, float] = {}
    for mode, probability in zip(modes, (matrix @ posterior.probability).tolist(), strict=True):
        found[MODES[mode].family] = found.get(MODES[mode].family, 0.0) + probability
    return dict(sorted(found.items(), key=lambda entry: (-entry[1], entry[0])))
