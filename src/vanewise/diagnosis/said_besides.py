"""What is said besides the causes and the cautions: doubt, contradictions, what the answer rests on."""

from __future__ import annotations

from typing import Final

from vanewise import chances
from vanewise.diagnosis import confirming, gauge_first, often_normal, regulator_lock, words
from vanewise.diagnosis.hypotheses import Hypothesis
from vanewise.diagnosis.modes import INDICATOR_WORN, MODES, NONE_OF_THESE, NOTHING_WRONG
from vanewise.diagnosis.safety import DEAD, EACH_PUMP
from vanewise.diagnosis.state import State
from vanewise.diagnosis.summing_up import group_of
from vanewise.diagnosis.symptoms import EVENTS
from vanewise.diagnosis.types import WORTH_NAMING, Cause, worth_naming
from vanewise.diagnosis.weighing import item_words
from vanewise.wording import listed, sentence

_SAME_SWEEP: Final = ("regulator_seat_dirty", "worn_vanes", "leak")


def said_besides(
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
    said.extend(_each_pump(state))
    said.extend(_each_instrument(state))
    said.extend(_same_sweep(state, found))
    said.extend(sentence(EVENTS[event].caution) for event in state.prepared.happened if EVENTS[event].caution)
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
    said.extend(words.new_pump(state.prepared.happened))
    return tuple(said)


def _two_at_once(state: State) -> list[str]:
    """Pairs are named when they carry the answer."""
    pairs = [(chance, hypothesis) for chance, hypothesis in _each(state) if hypothesis.kind == "pair"]
    if sum(chance for chance, _ in pairs) < 0.5:
        return []
    _, best = max(pairs, key=lambda entry: entry[0])
    names = listed([member.mode.name for member in best.members])
    return [f"No single fault explains it all: {names} at once do so best."]


def _each_pump(state: State) -> list[str]:
    """Where several pumps may have stopped, that one of them changed is not the end of it."""
    chance = sum(chance for chance, hypothesis in _each(state) if hypothesis.mode_ids.count(DEAD) > 1)
    return [f"Several pumps may be dead, {chances.about(chance)}. {EACH_PUMP}"] if chance >= WORTH_NAMING else []


def _each_instrument(state: State) -> list[str]:
    """Where instruments may be worn each by itself, that a plan is of one of them."""
    chance = sum(chance for chance, hypothesis in _each(state) if hypothesis.mode_ids.count(INDICATOR_WORN) > 1)
    if chance < WORTH_NAMING:
        return []
    told = f"Several instruments may be worn, each by itself, {chances.about(chance)}."
    return [f"{told} Have each looked at: a plan is of one."]


def _each(state: State) -> list[tuple[float, Hypothesis]]:
    """Every hypothesis with its probability."""
    return list(zip(state.posterior.probability.tolist(), state.posterior.hypotheses, strict=True))


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


def sources_of(state: State, found: tuple[Cause, ...]) -> tuple[str, ...]:
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
