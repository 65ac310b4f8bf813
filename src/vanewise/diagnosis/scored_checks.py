"""How likely the result of a check is in each row: a word with its table, a rise, a flow."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

import numpy as np

from vanewise.diagnosis import likelihood
from vanewise.diagnosis.check_errors import COVER_RELATIVE_SD, COVER_SD_INHG, FLOW_RELATIVE_SD, FLOW_SD_CFM
from vanewise.diagnosis.checks import CHECKS, Check
from vanewise.diagnosis.evidence import CheckItem
from vanewise.diagnosis.hypotheses import Hypothesis
from vanewise.diagnosis.predictions import Predicted
from vanewise.network.types import Floats
from vanewise.quantities import M3S_PER_CFM, PA_PER_INHG

_SLIP_DENSITY: Final = 0.1
"""Density of a measured value that says nothing: even over ten units."""
_NONE_SHOWS: Final = 0.2
"""How often a fault that no mode describes shows in a given check, in any way; else the check shows what it shows of a
sound part (judgement: most checks look elsewhere than the fault is)."""
_NONE_FLOW_SCALE_CFM: Final = 1.0


def outcome_probabilities(check: Check, place: str, subject: Hypothesis, quantiles: Floats) -> Floats:
    """Probability of each outcome of a table check, before any misjudgement, shape (rows, outcomes)."""
    rows = len(quantiles)
    background = np.array(check.background)
    if subject.kind == "none":
        unknown = (1.0 - _NONE_SHOWS) * background + _NONE_SHOWS / len(background)
        return np.broadcast_to(unknown, (rows, len(background)))
    found = [np.broadcast_to(background, (rows, len(background)))]
    for member in subject.members:
        table = check.table.get(member.mode.id)
        if table is None or (check.at_instrument and not any(spot.part == place for spot in member.places)):
            continue
        own = _severity_row(table, quantiles[:, member.severity])
        if check.by_source:
            return own
        found.append(own)
    return likelihood.gravest(list(found)) if len(found) > 1 else np.asarray(found[0])


def _severity_row(table: Sequence[Sequence[float]], quantile: Floats) -> Floats:
    mild, grave = np.array(table[0]), np.array(table[-1])
    return np.asarray(mild[None, :] + (grave - mild)[None, :] * quantile[:, None])


def check_log(
    item: CheckItem,
    subject: Hypothesis,
    quantiles: Floats,
    predicted: Predicted,
    sound: Predicted,
) -> Floats:
    """Log probability (density) of a check's result, shape (rows,)."""
    check = CHECKS[item.check]
    if check.kind == "table":
        outcomes = [outcome.id for outcome in check.outcomes]
        table = outcome_probabilities(check, item.place, subject, quantiles)
        judged = likelihood.with_misjudgement(table, item.grade)
        found = np.log(judged[:, outcomes.index(item.outcome)])
        if item.both_ways:
            found = 2.0 * found
        return np.asarray(found)
    if item.value is None:
        return np.zeros(len(quantiles))
    if check.kind == "cover test":
        return _cover_log(item, subject, predicted, sound)
    return _flow_log(item, subject, predicted, sound)


def cover_sd(rise: Floats, subject: Hypothesis, own_sd: float | None) -> Floats:
    """Standard deviation of a measured rise [inHg] in the cover test."""
    read = COVER_SD_INHG if own_sd is None else own_sd
    relative = COVER_RELATIVE_SD + max(member.mode.wander for member in subject.members)
    if subject.has("gauge_in_error"):
        relative = math.hypot(relative, likelihood.GAUGE_WRONG_SCALE_SD)
    return np.asarray(np.hypot(read, relative * rise))


def _cover_log(item: CheckItem, subject: Hypothesis, predicted: Predicted, sound: Predicted) -> Floats:
    rise = (item.value or 0.0) / PA_PER_INHG
    own_sd = None if item.sd is None else item.sd / PA_PER_INHG
    if subject.kind == "none":
        return likelihood.student_log_density(rise - sound.checks[item.id], likelihood.NONE_SCALE_INHG)
    value = predicted.checks[item.id]
    leaks = likelihood.single_log(value, rise, cover_sd(value, subject, own_sd), _SLIP_DENSITY)
    share = 1.0 - math.prod(1.0 - member.mode.shut_at_times for member in subject.members)
    if share <= 0.0:
        return leaks
    quiet = sound.checks[item.id]
    shut = likelihood.single_log(quiet, rise, cover_sd(quiet, subject, own_sd), _SLIP_DENSITY)
    return np.logaddexp(math.log1p(-share) + leaks, math.log(share) + shut)


def flow_sd(flow: Floats, own_sd: float | None) -> Floats:
    """Standard deviation of a measured flow [cfm]."""
    return np.asarray(np.hypot(FLOW_SD_CFM if own_sd is None else own_sd, FLOW_RELATIVE_SD * flow))


def _flow_log(item: CheckItem, subject: Hypothesis, predicted: Predicted, sound: Predicted) -> Floats:
    flow = (item.value or 0.0) / M3S_PER_CFM
    own_sd = None if item.sd is None else item.sd / M3S_PER_CFM
    if subject.kind == "none":
        return likelihood.student_log_density(flow - sound.checks[item.id], _NONE_FLOW_SCALE_CFM)
    value = predicted.checks[item.id]
    return likelihood.single_log(value, flow, flow_sd(value, own_sd), _SLIP_DENSITY)
