"""The answer in names and words: causes by source, evidence for and against, what stays open."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace
from typing import Final, Literal

import numpy as np

from vanewise import chances
from vanewise.diagnosis import confirming, gauge_first, often_normal, regulator_lock, safety, words
from vanewise.diagnosis.against_readings import beside_readings
from vanewise.diagnosis.confirming import check_words
from vanewise.diagnosis.evidence import PANEL, Prepared
from vanewise.diagnosis.hypotheses import Hypothesis, Member, prior_weights
from vanewise.diagnosis.likelihood import MISJUDGED, SharedError, outlier_weights
from vanewise.diagnosis.modes import MODES, NONE_OF_THESE, NOTHING_WRONG
from vanewise.diagnosis.modes.places import FEEDS_ONE
from vanewise.diagnosis.posterior import (
    ROUGH_BELOW,
    Posterior,
    evidence_without,
    log10_odds,
    log_mean,
    shares,
    thinned,
)
from vanewise.diagnosis.predictions import picked
from vanewise.diagnosis.scoring import GroupKey, Terms
from vanewise.diagnosis.state import State
from vanewise.diagnosis.symptoms import EVENTS, SYMPTOMS
from vanewise.diagnosis.types import (
    BeforeAnother,
    Cause,
    Causes,
    EvidenceWeight,
    HypothesisShare,
    NextCheck,
    worth_naming,
)
from vanewise.network.types import Floats
from vanewise.wording import listed, sentence

DECIDED_AT: Final = 0.80
"""A cause this probable is decided. Two causes that explain all alike and are within 3 in prior odds share at most
3 to 1, so neither can be."""
GROUP_SHARE: Final = 0.90
STOP_AT: Final = 0.95
"""A repair this probable is enough to act on (judgement)."""
_LEVEL_SEEN: Final = 0.5
"""How sure a level has to be when its first cause was seen directly."""
_MOST_CHANGES: Final = 4
_ONE_SOURCE: Final = frozenset({"coupling_sheared", "hose_off", "lines_misrouted", "pump_turns_wrong_way"})
"""Modes that take out one source of several."""
_WEIGHT_ROWS: Final = 192
"""Rows of each hypothesis that evidence is weighed by: good to 0.05 in log10 odds, the worst to 0.3."""
_LEAST_SHARE: Final = 0.001
_CONTRADICTS: Final = 0.5
_ASKED: Final = 0.99
"""Share of a cause's weight whose rows, the heaviest, are asked about contradictions: the rest moves no half."""
_SAME_SWEEP: Final = ("regulator_seat_dirty", "worn_vanes", "leak")
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


# ---- what each piece of evidence says -------------------------------------------------------------------------


def evidence_weights(state: State) -> Mapping[str, Mapping[str, float]]:
    """Evidence id -> cause id -> change of log10 odds that the item makes, against leaving it out."""
    posterior = state.posterior
    modes, matrix = source_matrix(posterior.hypotheses)
    scorer = state.scorer
    rows = thinned(scorer, posterior.rows, _WEIGHT_ROWS)
    sound = next(own.predicted for own in rows if scorer.hypotheses[own.hypothesis].kind == "none")
    whole = np.array([log_mean(own.log_weights())[0] for own in rows])
    all_in = log10_odds(matrix @ shares(whole, posterior.prior))
    events, said = state.prepared.events, state.prepared.said()
    found: dict[str, Mapping[str, float]] = {}

    def weigh(name: str, evidence: Floats, without: Collection[str] = (), others: Mapping[str, float] = events) -> None:
        """What ``name`` does to the odds: rates are rates of reports, so a remark left out moves them as well."""
        left = state.prepared.said(without)
        same = left == said and others is events
        prior = posterior.prior if same else prior_weights(posterior.hypotheses, others, left)
        found[name] = dict(zip(modes, (all_in - log10_odds(matrix @ shares(evidence, prior))).tolist(), strict=True))

    for key in scorer.group_keys():
        items = scorer.items_of(key)
        for item_id, evidence in zip(items, evidence_without(scorer, rows, sound, key, range(len(items))), strict=True):
            weigh(item_id, evidence, (item_id,))
        if len(items) > 1:
            bare = np.array([log_mean(own.log_weights(key, np.zeros_like(own.log_base)))[0] for own in rows])
            weigh(together(state.prepared, key), bare, items)
    for event in events:
        weigh(event, whole, others={kind: weight for kind, weight in events.items() if kind != event})
    return found


def together(prepared: Prepared, key: GroupKey) -> str:
    """A name for all items of a group: of a sweep, or of one person's remarks, each alone may say next to nothing."""
    kind, number = key
    if kind == "gauge":
        group = prepared.gauges[number]
        return f"{group.instrument}, {_all(len(group.items))} readings together"
    if kind == "lamp":
        return f"lamp, {_all(len(prepared.lamps))} changes together"
    remarks = prepared.remarks[number]
    return f"{remarks.name}, {_all(len(remarks.items))} remarks together"


def _all(count: int) -> str:
    return "both" if count == 2 else f"all {count}"


def item_words(prepared: Prepared) -> Mapping[str, str]:
    """What each piece of evidence was, in words."""
    found: dict[str, str] = {}
    for group in prepared.gauges:
        for item in group.items:
            when = ", while sound" if item.point.before else ""
            under = f", {', '.join(key for key, _ in item.point.under)}" if item.point.under else ""
            found[item.id] = f"{group.instrument} {item.value:.1f} inHg at {item.point.rpm:.0f} rpm{under}{when}"
    for lamp in prepared.lamps:
        when = ", while sound" if lamp.point.before else ""
        found[lamp.id] = f"lamp changed at {lamp.point.rpm:.0f} rpm{when}"
    for remarks in prepared.remarks:
        for remark in remarks.items:
            said = " ".join((SYMPTOMS[remark.symptom].words, remark.manner)).strip()
            found[remark.id] = said if remark.present else f"looked, and absent: {said}"
    for check in prepared.checks:
        found[check.id] = check_words(check)
    for event in prepared.events:
        found[event] = EVENTS[event].words
    return found


def _weights_of(
    cause: str, weights: Mapping[str, Mapping[str, float]], named: Mapping[str, str]
) -> tuple[EvidenceWeight, ...]:
    found = []
    for item_id, per_cause in weights.items():
        value = per_cause.get(cause, 0.0)
        speaks: Literal["for", "against", "neither"] = (
            "neither" if abs(value) < 0.1 else "for" if value > 0 else "against"
        )
        found.append(
            EvidenceWeight(
                id=item_id,
                log10_odds=value,
                words=f"{named.get(item_id, item_id)}: {words.weight(value)}",
                speaks=speaks,
            )
        )
    return tuple(sorted(found, key=lambda entry: (-abs(entry.log10_odds), entry.id)))


# ---- causes -----------------------------------------------------------------------------------------------------


def causes(state: State, weights: Mapping[str, Mapping[str, float]]) -> tuple[Cause, ...]:
    """One cause per source mode, most probable first."""
    posterior = state.posterior
    modes, matrix = source_matrix(posterior.hypotheses)
    named = item_words(state.prepared)
    there = presence(posterior)
    confirmed = confirming.confirmed(state.prepared, there)
    found = [
        _cause(mode, matrix[number], there[mode], posterior, weights, named, confirmed)
        for number, mode in enumerate(modes)
    ]
    return tuple(sorted(found, key=lambda cause: (-cause.probability, modes.index(cause.id))))


def _cause(
    mode: str,
    share_of: Floats,
    present: float,
    posterior: Posterior,
    weights: Mapping[str, Mapping[str, float]],
    named: Mapping[str, str],
    confirmed: Mapping[str, str],
) -> Cause:
    own = share_of * posterior.probability
    probability = float(own.sum())
    members = np.flatnonzero(share_of > 0.0)
    order = sorted(members.tolist(), key=lambda index: (-own[index], index))
    best = order[0]
    part = next(
        (m.places[0].part for m in posterior.hypotheses[best].members if m.mode.id == mode),
        posterior.hypotheses[best].part,
    )
    total = own[members].sum()
    mix = own[members] / total if total > 0 else np.full(len(members), 1.0 / len(members))
    effective = float(1.0 / np.sum(mix**2 / np.maximum(posterior.effective_rows[members], 1e-9)))
    error = float(np.sqrt(np.sum((mix * np.minimum(posterior.log_evidence_se[members], 1e6)) ** 2)))
    return Cause(
        id=mode,
        name=MODES[mode].name,
        part=part,
        probability=probability,
        present=max(present, 1.0 - MISJUDGED[2]) if mode in confirmed else present,
        hypotheses=_shares_of(order, own, posterior),
        evidence=_weights_of(mode, weights, named),
        effective_rows=effective,
        log_evidence_se=error,
        count_is_rough=effective < ROUGH_BELOW,
        confirmed=mode in confirmed,
        confirmed_by=confirmed.get(mode, ""),
    )


def _shares_of(order: Sequence[int], own: Floats, posterior: Posterior) -> tuple[HypothesisShare, ...]:
    return tuple(
        HypothesisShare(
            id=posterior.hypotheses[index].id,
            share=float(own[index]),
            modes=posterior.hypotheses[index].mode_ids,
            effective_rows=float(posterior.effective_rows[index]),
            log_evidence_se=float(min(posterior.log_evidence_se[index], 1e6)),
            words=posterior.hypotheses[index].words,
        )
        for number, index in enumerate(order)
        if number == 0 or own[index] >= _LEAST_SHARE
    )


# ---- the whole ---------------------------------------------------------------------------------------------------


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
    return min((_level_of_member(member, sources) for member in hypothesis.members), key=_LEVEL_ORDER.index)


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


def stop_words(
    by_repair: Mapping[str, float],
    first: Cause,
    checks: Sequence[NextCheck],
    asked: bool,
    found: Sequence[Cause] = (),
    *,
    cautioned: bool = False,
    gauge_proved: bool = False,
) -> str:
    """Why to stop asking, or nothing. ``asked`` tells whether checks were looked for at all, ``found`` are all causes.

    A dead pump is no end of the question: what killed it kills the next one. Nor is it one that no fault was told of,
    while something must not wait (``cautioned``) or the panel gauge may read right over weak air (no ``gauge_proved``).
    """
    family, probability = next(iter(by_repair.items()))
    dead = safety.dead_pump_words(found)
    if dead:
        return dead
    if first.confirmed:
        known = f"{first.name} was {confirming.how(first.confirmed_by)}"
        return f"{known}: repair it, prove it, and watch whether anything is left."
    if no_fault_left(by_repair, first) and gauge_proved and not cautioned:
        told = f"nothing to repair by what was told, {chances.about(probability)}"
        return f"{told}: {words.NO_FINDING}. {words.NOTHING_LEFT}"
    if probability >= STOP_AT and family not in ("none", NOTHING_WRONG.family) and not first.count_is_rough:
        return (
            f"enough to act on: {words.REPAIRS[family]}, {chances.about(probability)}. Look at the part itself before "
            f"it is replaced.{safety.killer_unseen(found)}"
        )
    if asked and not checks:
        apart = "no check known here tells the rest apart"
        if first.id != NOTHING_WRONG.id:
            return f"{apart}: act on the harmless and cheap repair first, then read again."
        return f"{apart}: see to what must not wait." if cautioned else f"{apart}. {words.NOTHING_LEFT}"
    return ""


def no_fault_left(by_repair: Mapping[str, float], first: Cause) -> bool:
    """True when hardly anything but no fault is left by what was told."""
    return by_repair.get(NOTHING_WRONG.family, 0.0) >= STOP_AT and not first.count_is_rough


def assemble(
    state: State,
    found: tuple[Cause, ...],
    checks: tuple[NextCheck, ...],
    seed: int,
    *,
    asked: bool = True,
    questions: tuple[BeforeAnother, ...] = (),
) -> Causes:
    """The answer with its doubt. ``asked`` is False when no next check was looked for; ``questions`` are what is to be
    found out before another part of the same kind is fitted."""
    found = beside_readings(state, found)
    posterior = state.posterior
    modes, matrix = source_matrix(posterior.hypotheses)
    flattened = matrix @ shares(posterior.log_evidence, posterior.prior, power=0.5)
    first = found[0]
    rests = modes[int(np.argmax(flattened))] != first.id
    description = state.bank.packed.description
    by_level = levels(posterior, len(description.parts_of("pump")))
    by_repair = repairs(posterior)
    top_level = max(by_level, key=lambda name: by_level[name])
    sure = _LEVEL_SEEN if first.confirmed else DECIDED_AT
    before = matrix @ (posterior.prior / posterior.prior.sum())
    order = sorted(range(len(modes)), key=lambda index: (-before[index], index))
    decided = first.probability >= DECIDED_AT and not first.count_is_rough and first.id != NONE_OF_THESE.id
    capped, contradictory = _capped_groups(state), contradictions(state)
    level = top_level if by_level[top_level] >= sure and top_level != "unknown" else ""
    cautions = tuple(safety.cautions(found, by_level, description, state.prepared))
    gauge_proved = gauge_first.proved(description, state.prepared)
    unproved = (words.GAUGE_UNPROVED,) if no_fault_left(by_repair, first) and not gauge_proved else ()
    victim = level == "one instrument" and any(question.id == "instrument" for question in questions)
    return Causes(
        causes=found,
        undecided=not decided,
        group=group_of(found),
        next_checks=checks,
        remarks=(*cautions, *unproved, *_remarks(state, found, decided, rests, capped, contradictory)),
        refined=state.refined,
        engine=state.bank.engine,
        rows_per_hypothesis=state.bank.rows,
        rests_on_priors=rests,
        sources=_sources(state, found),
        description_digest=state.bank.description_digest,
        seed=seed,
        level=level,
        level_note=words.VICTIM if victim else words.NO_FINDING if level == NOTHING_WRONG.level else "",
        levels=by_level,
        prior_order=tuple(modes[index] for index in order[:3]),
        capped=capped,
        repairs=by_repair,
        stop=""
        if confirming.in_doubt(state.prepared, first.id)
        else _not_yet(
            stop_words(by_repair, first, checks, asked, found, cautioned=bool(cautions), gauge_proved=gauge_proved),
            questions,
        ),
        changes_mind=tuple(f"{check.title}: {text}" for check in checks for text in check.would_change[:1])[
            :_MOST_CHANGES
        ],
        left_out=state.prepared.former.left_out,
        contradictory=(*contradictory, *confirming.contradicting(state.prepared)),
        before_another=questions,
        cautions=cautions,
    )


def _not_yet(stop: str, questions: Sequence[BeforeAnother]) -> str:
    """Enough to act on is not enough to fit another: said where both stand."""
    if not stop or not questions:
        return stop
    told = listed([f"another {question.id}" for question in questions], "or")
    return f"{stop} What to look at before {told} is fitted stands below."


def _capped_groups(state: State) -> tuple[str, ...]:
    """Groups of soft remarks that would say more than the cap allows, among causes that matter."""
    found = []
    scorer, posterior = state.scorer, state.posterior
    matter = [own for own, p in zip(posterior.rows, posterior.probability, strict=True) if p > 1e-6]
    for number, group in enumerate(scorer.prepared.remarks):
        if group.soft:
            floor = scorer.remarks.cap_floor(number)
            if any(float(np.nanmin(own.parts["remarks", number])) <= floor + 1e-12 for own in matter):
                found.append(group.name)
    return tuple(found)


def contradictions(state: State) -> tuple[str, ...]:
    """Readings that none of the leading causes explains: posterior outlier weight above one half."""
    posterior, scorer = state.posterior, state.scorer
    leading = [index for index in np.argsort(-posterior.probability)[:4] if posterior.probability[index] > 0.02]
    total = float(posterior.probability[leading].sum())
    found = []
    for number, group in enumerate(scorer.prepared.gauges):
        if group.sister:
            continue
        weight = np.zeros(len(group.items))
        alike: dict[tuple[float, float, float], list[tuple[Terms, SharedError, Floats]]] = {}
        for index in leading:
            own, subject = posterior.rows[index], posterior.hypotheses[index]
            if subject.kind == "none" or (subject.has("gauge_in_error") and group.instrument == PANEL):
                continue  # these explain any reading
            row_weight = _normalised(own.log_weights())
            heaviest = np.argsort(-row_weight, kind="stable")
            solved = np.sort(heaviest[: np.searchsorted(np.cumsum(row_weight[heaviest]), _ASKED) + 1])
            asked = row_weight[solved] / row_weight[solved].sum()
            some = picked(own.predicted, solved)
            terms = scorer.likely_terms(number, subject, some)
            for share, error in scorer.kinds(number, subject, some):
                counts = posterior.probability[index] / total * asked * share
                alike.setdefault((error.bias_sd, error.scale_sd, error.tilt), []).append((terms, error, counts))
        for parts in alike.values():
            weight += _slips_of(parts)
        found += [item.id for item, value in zip(group.items, weight, strict=True) if value > _CONTRADICTS]
    return tuple(found)


def _slips_of(parts: Sequence[tuple[Terms, SharedError, Floats]]) -> Floats:
    """Chance that each reading is a slip, (readings,), summed over rows by what they count for; all rows in one go.

    ``parts`` are terms, error and what each row counts for; the errors differ in what is expected of each row alone.
    """
    (_, observed, _), first, _ = parts[0]
    value = np.concatenate([terms[0] for terms, _, _ in parts])
    variance = np.concatenate([terms[2] for terms, _, _ in parts])
    means = [
        np.zeros((len(counts), 2)) if error.mean is None else np.broadcast_to(error.mean, (len(counts), 2))
        for _, error, counts in parts
    ]
    error = replace(first, mean=np.concatenate(means))
    return np.asarray(
        np.concatenate([counts for _, _, counts in parts]) @ outlier_weights(value, observed, variance, error)
    )


def _normalised(log_weights: Floats) -> Floats:
    finite = np.isfinite(log_weights)
    if not finite.any():
        return np.zeros(len(log_weights))
    weight = np.where(finite, np.exp(log_weights - log_weights[finite].max()), 0.0)
    return np.asarray(weight / weight.sum())


def _remarks(
    state: State,
    found: tuple[Cause, ...],
    decided: bool,
    rests: bool,
    capped: tuple[str, ...],
    contradictory: tuple[str, ...],
) -> tuple[str, ...]:
    """What is said besides the cautions."""
    said: list[str] = []
    named = {cause.id: cause for cause in found}
    group = [named[cause] for cause in group_of(found)]
    likely = worth_naming(group)
    if not decided and len(group) > 1:
        names = [f"{cause.name} ({chances.about(cause.probability)})" for cause in likely]
        rest = len(group) - len(likely)
        names += [f"{rest} more, each less likely than 1 in 20"] if rest else []
        said.append(f"Undecided. Not told apart by what is known: {listed(names)}.")
    if any(cause.id == NOTHING_WRONG.id for cause in likely):
        said.append(words.NO_FAULT_NAMED)
    said.extend(often_normal.said(found, state.prepared))
    said.extend(gauge_first.said(state.bank.packed.description, state.prepared))
    said.extend(_two_at_once(state))
    said.extend(_same_sweep(state, found))
    said.extend(sentence(EVENTS[event].caution) for event in state.prepared.events if EVENTS[event].caution)
    if rests:
        said.append("The first place rests on how common it is, not on your readings.")
    items = item_words(state.prepared)
    said.extend(
        f"Contradictory: {items[item_id]} fits none of the leading causes. Read it again." for item_id in contradictory
    )
    said.extend(confirming.disagreements(state.prepared))
    said.extend(state.prepared.former.said)
    said.extend(f"Soft reports ({name}) were held to thirty to one: words alone do not decide." for name in capped)
    first = found[0]
    if first.count_is_rough:
        said.append("The count is rough: few of the computed states fit this evidence, so nothing is called decided.")
    if first.id == NONE_OF_THESE.id:
        said.append("None of the faults held here explains the evidence well. Look for something not on the list.")
    if any(MODES[cause].family == regulator_lock.SETTING for cause in group_of(found) if cause in MODES):
        said.extend(regulator_lock.said(state.prepared))
    said.extend(_about_the_aircraft(state))
    said.extend(words.new_pump(state.prepared.events))
    return tuple(said)


def _two_at_once(state: State) -> list[str]:
    """Pairs are named when they carry the answer."""
    pairs = [
        (probability, hypothesis)
        for probability, hypothesis in zip(
            state.posterior.probability.tolist(), state.posterior.hypotheses, strict=True
        )
        if hypothesis.kind == "pair"
    ]
    if sum(probability for probability, _ in pairs) < 0.5:
        return []
    _, best = max(pairs, key=lambda entry: entry[0])
    names = listed([member.mode.name for member in best.members])
    return [f"No single fault explains it all: {names} at once do so best."]


def _same_sweep(state: State, found: tuple[Cause, ...]) -> list[str]:
    """The trade's group of three, named where there is a sweep to say it of; a victim counts as there."""
    read = {item.point.rpm for group in state.prepared.gauges for item in group.items if not item.point.before}
    if len(read) < 2:
        return []
    named = {cause.id: cause for cause in found}
    there = [named[mode] for mode in _SAME_SWEEP if mode in named and named[mode].present >= 0.05]
    if len(there) < 2:
        return []
    said = listed([f"{cause.name} {chances.about(cause.present)}" for cause in there])
    alike = (
        "Dirt on the regulator seat, a worn pump and a small leak give the same sweep within 0.1 to 0.2 inHg: "
        "the cover test, a leak test or the wear port tells them apart, the sweep does not."
    )
    return [f"There at all, as source or as victim: {said}.", alike]


def _about_the_aircraft(state: State) -> list[str]:
    description = state.bank.packed.description
    said = []
    if not description.duty_confirmed:
        said.append(f"{description.duty.capitalize()} duty is assumed: confirm it before any work.")
    if "unknown" in (description.gauge.high, description.gauge.low):
        said.append("The gauge's connection is not known: both usual ones were counted in.")
    if state.bank.engine == "numpy":
        said.append(
            f"Computed without the compiled solver: {state.bank.rows} states for each hypothesis, a rougher count."
        )
    sisters = sorted(group.instrument for group in state.prepared.gauges if group.sister)
    if sisters:
        named = listed(sisters)
        said.append(f"Sister aircraft serve as a baseline, for what aircraft of one kind have in common: {named}.")
    own = [item for group in state.prepared.gauges if not group.sister for item in group.items]
    if not any(item.point.before for item in own):
        said.append(
            "No earlier sound readings of this aircraft: what is small and what is worn are hard to tell apart."
        )
    return said


def _sources(state: State, found: tuple[Cause, ...]) -> tuple[str, ...]:
    """Where the numbers behind this answer come from."""
    sources = [
        "priors, severities, chances of symptoms and checks: judgement of the authors, to be replaced by your record",
        "pressures and flows: this aircraft's description, solved (laws and their sources in the network's reference)",
    ]
    for cause in found[:4]:
        source = str(MODES[cause.id].source)
        if not source.startswith("judgement"):
            sources.append(f"{cause.name}: {source}")
    assumed = state.bank.packed.description.assumed()
    if assumed:
        sources.append(f"{len(assumed)} numbers of this aircraft are examples nobody has measured yet")
    return tuple(sources)
