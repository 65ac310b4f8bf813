"""The regulator's screw: what is still to be proved before anybody turns it.

A turned screw hides a clogged filter, a leak or a gauge that is wrong: the needle is back in the green and the fault is
still there (common practice, no source).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from vanewise.diagnosis.evidence import Prepared

SETTING: Final = "regulator setting"
"""The family of causes whose repair is the screw."""


@dataclass(frozen=True, slots=True)
class Proof:
    """One thing that must be proved first: what would do, as results of checks or as things done, and how to get it."""

    what: str
    by_results: frozenset[tuple[str, str]]
    """(check, outcome), any of which proves it."""
    by_events: frozenset[str]
    next_step: str


PROOFS: Final = (
    Proof(
        "the filter new, or seen light",
        frozenset({("intake_filter_look", "light"), ("inline_filter_look", "light")}),
        frozenset({"intake_filter_changed", "inline_filter_changed"}),
        "look at the filter, or fit a new one and log it",
    ),
    Proof(
        "the lines tight, by suction with a flow meter or by shop air",
        frozenset({("section_suction", "tight"), ("shop_air", "dry")}),
        frozenset(),
        "leak test the lines section by section",
    ),
    Proof(
        "the panel gauge right beside a calibrated one",
        frozenset({("test_gauge", "agrees")}),
        frozenset(),
        "compare the panel gauge with a test gauge",
    ),
)


def still_to_prove(prepared: Prepared) -> tuple[Proof, ...]:
    """What is not proved yet; nothing when the screw may be thought of."""
    results = {(item.check, item.outcome) for item in prepared.checks}
    return tuple(
        proof for proof in PROOFS if not (proof.by_results & results or proof.by_events & prepared.events.keys())
    )


def said(prepared: Prepared) -> list[str]:
    """The lock in words for the page, or nothing."""
    missing = still_to_prove(prepared)
    if not missing:
        return []
    proofs = "; ".join(f"{proof.what} ({proof.next_step})" for proof in missing)
    why = "turned, it hides a filter, a leak or a gauge that is wrong"
    return [f"Do not turn the regulator's screw yet: {why}. Still to be proved: {proofs}."]
