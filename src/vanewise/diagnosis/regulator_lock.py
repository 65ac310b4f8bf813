"""The regulator's screw: what is still to be proved before anybody turns it.

A turned screw hides a clogged filter, a leak or a gauge that is wrong: the needle is back in the green and the fault is
still there (common practice, no source). So a proof has to be of today: a new filter of long ago, a comparison from
before the fault or one that another contradicts proves nothing.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from vanewise.diagnosis.confirming import check_words
from vanewise.diagnosis.evidence import CheckItem, Prepared
from vanewise.diagnosis.parts_changed import may_differ_after
from vanewise.diagnosis.types import Event
from vanewise.wording import listed

SETTING: Final = "regulator setting"
"""The family of causes whose repair is the screw."""
FRESH_H: Final = 50.0
"""Flight hours for which a new filter counts as new (judgement)."""


@dataclass(frozen=True, slots=True)
class Proof:
    """One thing that must be proved first: what would do, as results of checks or as things done, and how to get it."""

    what: str
    by_results: frozenset[tuple[str, str]]
    """(check, outcome), any of which proves it."""
    against: frozenset[tuple[str, str]]
    """(check, outcome), any of which takes the proof away."""
    by_events: frozenset[str]
    next_step: str


PROOFS: Final = (
    Proof(
        "the filter new, or seen light",
        frozenset({("intake_filter_look", "light"), ("inline_filter_look", "light")}),
        frozenset(
            {
                *(("intake_filter_look", outcome) for outcome in ("loaded", "wet", "missing")),
                *(("inline_filter_look", outcome) for outcome in ("loaded", "past_seal", "missing")),
            }
        ),
        frozenset({"intake_filter_changed", "inline_filter_changed"}),
        f"look at the filter, or fit a new one and log it with its hours, at most {FRESH_H:.0f} h ago",
    ),
    Proof(
        "the lines tight, by suction with a flow meter or by shop air",
        frozenset({("section_suction", "tight"), ("shop_air", "dry")}),
        frozenset({("section_suction", "leaks"), ("shop_air", "bubbles")}),
        frozenset(),
        "leak test the lines section by section",
    ),
    Proof(
        "the panel gauge right beside a calibrated one",
        frozenset({("test_gauge", "agrees")}),
        frozenset({("test_gauge", "differs")}),
        frozenset(),
        "compare the panel gauge with a test gauge",
    ),
)


def still_to_prove(prepared: Prepared) -> tuple[Proof, ...]:
    """What is not proved yet; nothing when the screw may be thought of."""
    return tuple(proof for proof in PROOFS if not _proved(proof, prepared) or _against(proof, prepared))


def _proved(proof: Proof, prepared: Prepared) -> bool:
    """A result above hearsay, or a fresh new part; neither older than the fault, where dates say so."""
    looked = any(
        (item.check, item.outcome) in proof.by_results and item.grade > 0 and not _before_the_fault(item, prepared)
        for item in prepared.checks
    )
    return looked or any(event.kind in proof.by_events and _fresh(event, prepared) for event in prepared.work)


def _before_the_fault(dated: CheckItem | Event, prepared: Prepared) -> bool:
    return dated.when is not None and prepared.fault_since is not None and dated.when < prepared.fault_since


def _fresh(event: Event, prepared: Prepared) -> bool:
    """Fitted since the fault showed, or by its hours; of unknown age is not fresh."""
    if _before_the_fault(event, prepared):
        return False
    if event.hours_ago is not None:
        return event.hours_ago <= FRESH_H
    return event.when is not None and prepared.fault_since is not None


def _against(proof: Proof, prepared: Prepared) -> tuple[CheckItem, ...]:
    """Results that speak against it and that no dated work since has settled."""
    return tuple(
        item
        for item in prepared.checks
        if (item.check, item.outcome) in proof.against and not _settled(item, prepared.work)
    )


def _settled(item: CheckItem, work: tuple[Event, ...]) -> bool:
    return item.when is not None and any(
        event.when is not None and event.when >= item.when and may_differ_after(event, item.check, item.place)
        for event in work
    )


def said(prepared: Prepared) -> list[str]:
    """The lock in words for the page, or nothing."""
    missing = still_to_prove(prepared)
    if not missing:
        return []
    proofs = "; ".join(_missing(proof, prepared) for proof in missing)
    why = "turned, it hides a filter, a leak or a gauge that is wrong"
    return [f"Do not turn the regulator's screw yet: {why}. Still to be proved: {proofs}."]


def _missing(proof: Proof, prepared: Prepared) -> str:
    against = _against(proof, prepared)
    stands = f"against it stands {listed([check_words(item) for item in against])}; " if against else ""
    return f"{proof.what} ({stands}{proof.next_step})"
