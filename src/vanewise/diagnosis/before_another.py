"""What is to be found out before another part of the same kind is fitted, however plain it is which part goes.

Next checks are weighed by what they say of the repair. Two questions are not of the repair: where the dirt in an
instrument came from, and what killed a pump that did not last. Both repairs are plain long before the answer is, and a
new instrument or pump fitted meanwhile goes the same way. So they are asked beside, and their checks are weighed by
what they say of the cause.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from dataclasses import replace
from typing import Final

import numpy as np

from vanewise.diagnosis import safety
from vanewise.diagnosis.checks import CHECKS
from vanewise.diagnosis.dirt_seen import DIRTY_OUTCOMES, DIRTY_SYMPTOMS
from vanewise.diagnosis.evidence import Prepared
from vanewise.diagnosis.modes import MODES
from vanewise.diagnosis.next_check import candidates, told_by_table
from vanewise.diagnosis.resampling import Sample
from vanewise.diagnosis.state import Options, State
from vanewise.diagnosis.summing_up import repairs
from vanewise.diagnosis.symptoms import EVENTS, SYMPTOMS
from vanewise.diagnosis.types import BeforeAnother, Cause, NextCheck
from vanewise.wording import capital, listed

__all__ = ["before_another", "reached_an_instrument"]

_SECOND_GYRO: Final = "second_gyro_within_90_days"

_SHORT_LIVED: Final = ("former_pump_short_life", "pump_changed")
"""Events after which a pump that goes is a question of its own, dead or not: it did not last, or the one before."""
_DEAD: Final = "the pump is likely dead"
_DIRT_CHECKS: Final = ("borescope_lines", "instrument_inlet_look", "intake_filter_look", "inline_filter_look")
_PUMP_CHECKS: Final = ("pump_teardown", "borescope_lines")
_WHERE_FROM: Final = (
    "That points to what feeds the instruments until it is disproved: carbon of a pump, what a former one left in the "
    "lines, air that passed no filter. The instrument is a victim, and its shop's report opens the search for the "
    "source; it does not end it."
)
_SEEN: Final = "What sheds was seen: {}. Before another instrument is fitted, see how far it went."
_KILLED: Final = (
    "What killed one pump kills the next: carbon or sealant drawn in from the lines, oil, a body squeezed in a vise, "
    "the wrong hand, heat, vanes worn short. The opened pump and the lines tell these apart; the gauge does not."
)
_NO_INSTRUMENT: Final = "Fit no other instrument until the source is found and every line it reached is clean."
_NO_PUMP: Final = "Fit no other pump until what killed this one is found. Keep all its pieces: they tell what did it."


def before_another(
    state: State, causes: Sequence[Cause], options: Options, drawn: Callable[[], Sample]
) -> tuple[BeforeAnother, ...]:
    """The questions that stand, each with what can still be looked at (nothing where no checks are asked for).

    ``drawn`` gives the rows of the posterior that looks are tried on.
    """
    dirt, pump = reached_an_instrument(state.prepared), _pump_question(state, causes)
    sample = drawn() if (dirt or pump) and options.next_checks else None
    found = []
    if dirt:
        why = f"{capital(listed(dirt))}. {_source_seen(causes) or _WHERE_FROM}"
        found.append(
            BeforeAnother(
                id="instrument",
                heading="Before another instrument is fitted",
                why=why,
                caution=_NO_INSTRUMENT,
                checks=_looks(state, causes, sample, _DIRT_CHECKS, "where it came from", options),
            )
        )
    if pump:
        found.append(
            BeforeAnother(
                id="pump",
                heading="Before another pump is fitted",
                why=f"{capital(listed(pump))}. {_KILLED}",
                caution=_NO_PUMP,
                checks=_looks(state, causes, sample, _PUMP_CHECKS, "what killed it", options),
            )
        )
    return tuple(found)


def reached_an_instrument(prepared: Prepared) -> tuple[str, ...]:
    """What says that dirt reached an instrument, or that instruments go one after another, each in words and in a
    fixed order; nothing said, nothing."""
    noticed = {item.symptom for group in prepared.remarks for item in group.items if item.present}
    shown = {(item.check, item.outcome) for item in prepared.checks}
    said = [EVENTS[_SECOND_GYRO].words] if _SECOND_GYRO in prepared.happened else []
    said += [
        SYMPTOMS[symptom].words for symptom, sight in DIRTY_SYMPTOMS.items() if sight.about_gyro and symptom in noticed
    ]
    for (check, outcome), sight in DIRTY_OUTCOMES.items():
        if sight.about_gyro and (check, outcome) in shown:
            word = next(entry.words for entry in CHECKS[check].outcomes if entry.id == outcome)
            said.append(f"{CHECKS[check].name}: {word}")
    return tuple(said)


def _source_seen(causes: Sequence[Cause]) -> str:
    seen = [cause.name for cause in causes if cause.confirmed and MODES[cause.id].sheds is not None]
    return _SEEN.format(listed(seen)) if seen else ""


def _pump_question(state: State, causes: Sequence[Cause]) -> tuple[str, ...]:
    """Why the death of the pump is a question, in words; nothing where no pump goes, or its killer was seen."""
    lately = tuple(EVENTS[event].words for event in _SHORT_LIVED if event in state.prepared.happened)
    if any(cause.confirmed and (cause.id in safety.KILLERS or _ends_it(cause)) for cause in causes):
        return ()
    if safety.dead({cause.id: cause.present for cause in causes}):
        return lately or (_DEAD,)
    return lately if next(iter(repairs(state.posterior))) == "pump" else ()


def _ends_it(cause: Cause) -> bool:
    """A parted coupling is how a pump ends; any other fault of the pump that was seen is why it goes."""
    return cause.id != safety.DEAD and MODES[cause.id].family == "pump"


def _looks(
    state: State,
    causes: Sequence[Cause],
    sample: Sample | None,
    checks: Collection[str],
    of: str,
    options: Options,
) -> tuple[NextCheck, ...]:
    """The checks that are possible and not done, most told of the source for its minutes first, none left out."""
    if sample is None:
        return ()
    description = state.bank.packed.description
    wanted = [
        candidate
        for candidate in candidates(
            description, state.prepared, causes, options.not_possible, frozenset(options.opened)
        )
        if candidate.check.id in checks
    ]
    return told_by_table(description, sample, by_source(sample), wanted, causes, of=of, opened=options.opened)


def by_source(sample: Sample) -> Sample:
    """The same rows, grouped by their source and not by what would be repaired."""
    sources = tuple(mode for mode in MODES if mode in set(sample.causes))
    return replace(
        sample, groups=sources, group=np.array([sources.index(cause) for cause in sample.causes], dtype=np.int64)
    )
