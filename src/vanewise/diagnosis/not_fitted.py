"""Remarks about what this aircraft's description does not have: left out of the answer, and said.

A second source that gives nothing speaks for a shared line or a hose off. Where none is described nothing can be made
of it: either the description lacks a source, or the remark is of something else.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from vanewise.aircraft.description import AircraftDescription
from vanewise.diagnosis.former_parts import Former, without
from vanewise.diagnosis.symptoms import SYMPTOMS
from vanewise.diagnosis.types import Evidence
from vanewise.wording import listed

SOURCE_KINDS: Final = ("pump", "standby pump", "intake source")
"""Kinds of part that move air for the gyros, or let the engine do so."""
_OF_A_SECOND_SOURCE: Final = frozenset({"standby_gives_nothing", "one_source_alone_does_not_hold", "both_sources_lost"})


def without_what_is_not_fitted(
    description: AircraftDescription, evidence: Evidence, former: Former
) -> tuple[Evidence, Former]:
    """The evidence without remarks about a second source where only one is described, and ``former`` with them."""
    if sum(len(description.parts_of(kind)) for kind in SOURCE_KINDS) > 1:
        return evidence, former
    idle = [remark for remark in evidence.remarks if remark.symptom in _OF_A_SECOND_SOURCE]
    if not idle:
        return evidence, former
    left_out = {remark.id: "the description has one source of air alone" for remark in idle}
    told = listed(list(dict.fromkeys(f'"{SYMPTOMS[remark.symptom].words}"' for remark in idle)))
    said = (
        f"Left out: {told}. The description has one source of air alone. Add the second one to the description, or "
        "take the remark back."
    )
    return without(evidence, left_out), replace(
        former, left_out={**former.left_out, **left_out}, said=(*former.said, said)
    )
