"""Weights of evidence, lists and pressures in words."""

from __future__ import annotations

from collections.abc import Sequence

from vanewise.quantities import PA_PER_INHG


def weight(log10_odds: float) -> str:
    """What a change of log10 odds amounts to, in words."""
    size = abs(log10_odds)
    side = "for it" if log10_odds > 0 else "against it"
    if size < 0.1:
        return "says next to nothing about it"
    factor = 10.0**size
    times = f"{factor:.1f}" if factor < 3 else f"{factor:.0f}" if factor < 100 else "more than 100"
    strength = "a little" if size < 0.3 else "clearly" if size < 1.0 else "strongly"
    return (
        f"speaks {strength} {side} (odds times {times})"
        if log10_odds > 0
        else (f"speaks {strength} {side} (odds divided by {times})")
    )


def listed(names: Sequence[str], last: str = "and") -> str:
    """``a, b and c``."""
    if len(names) <= 1:
        return "".join(names)
    return f"{', '.join(names[:-1])} {last} {names[-1]}"


def inhg(pressure_pa: float) -> str:
    return f"{pressure_pa / PA_PER_INHG:.1f} inHg"
