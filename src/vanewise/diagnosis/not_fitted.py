"""Remarks about what this aircraft's description does not have: left out of the answer, and said.

A second source that gives nothing speaks for a shared line or a hose off. Where none is described nothing can be made
of it: either the description lacks a source, or the remark is of something else. So with an instrument that the
description has none of on this air: one driven by electricity says nothing of the air, and nothing of the other gyros.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Final

from vanewise.aircraft.description import AircraftDescription
from vanewise.diagnosis.former_parts import Former, without
from vanewise.diagnosis.symptoms import SYMPTOMS
from vanewise.diagnosis.types import Evidence, Remark
from vanewise.wording import capital, listed

SOURCE_KINDS: Final = ("pump", "standby pump", "intake source")
"""Kinds of part that move air for the gyros, or let the engine do so."""
_OF_A_SECOND_SOURCE: Final = frozenset({"standby_gives_nothing", "one_source_alone_does_not_hold", "both_sources_lost"})


def without_what_is_not_fitted(
    description: AircraftDescription, evidence: Evidence, former: Former
) -> tuple[Evidence, Former]:
    """The evidence without remarks about what is not described, and ``former`` with them."""
    for idle, why, next_ in _idle(description, evidence):
        left_out = {remark.id: why for remark in idle}
        told = listed(list(dict.fromkeys(f'"{SYMPTOMS[remark.symptom].words}"' for remark in idle)))
        said = f"Left out: {told}. {capital(why)}. {next_}"
        evidence = without(evidence, left_out)
        former = replace(former, left_out={**former.left_out, **left_out}, said=(*former.said, said))
    return evidence, former


def _idle(description: AircraftDescription, evidence: Evidence) -> Iterator[tuple[list[Remark], str, str]]:
    """Remarks that nothing can be made of, why, and what to do."""
    if sum(len(description.parts_of(kind)) for kind in SOURCE_KINDS) < 2:
        idle = [remark for remark in evidence.remarks if remark.symptom in _OF_A_SECOND_SOURCE]
        if idle:
            why = "the description has one source of air alone"
            yield idle, why, "Add the second one to the description, or take the remark back."
    instruments = dict.fromkeys(SYMPTOMS[remark.symptom].instrument for remark in evidence.remarks)
    for instrument in instruments:
        if not instrument or description.parts_of(instrument):
            continue
        idle = [remark for remark in evidence.remarks if SYMPTOMS[remark.symptom].instrument == instrument]
        why = f"the description has no {instrument} on this air, and one driven by electricity says nothing of it"
        yield idle, why, "Add it to the description if it runs on air, or take the remark back."
