"""How far air that comes back through a stopped pump carries debris (suction duty).

When the pump stops, the lines and cases between the gyros' jets and the pump are still below ambient by ``d``. They
fill to ambient ``Pa``; isothermally that takes ``V d / Pa`` of air, measured at ambient. If all of it came through the
broken pump it would push in as a plug, nearest the pump first, and divide at each branch by the volume behind it. That
is the upper bound: air also comes in through the gyros, and chips lag behind air. (Derived here; the trade's own rule
of thumb is the same expression.)
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

VOLUME_SPREAD: Final = 0.30
"""The volume of a system is known to about 30 % either way (judgement)."""


def refill_volume(volume_m3: float, suction_pa: float, ambient_pa: float) -> float:
    """Air [m3, at ambient] that fills ``volume_m3`` from ``suction_pa`` below ambient back to ``ambient_pa``."""
    if not 0.0 <= suction_pa < ambient_pa:
        raise ValueError(f"suction {suction_pa} Pa must lie between 0 and the ambient {ambient_pa} Pa")
    return volume_m3 * suction_pa / ambient_pa


def swept_length(refill_m3: float, bore_m: float) -> float:
    """Length [m] of a line of ``bore_m`` [m] that holds ``refill_m3`` [m3]."""
    return refill_m3 / (math.pi / 4.0 * bore_m**2)


def orifice_area(flow_m3_s: float, drop_pa: float, density: float = 1.225) -> float:
    """Area [m2] of the ideal incompressible jet that passes ``flow_m3_s`` of air at ``drop_pa``. For shares only."""
    return flow_m3_s / math.sqrt(2.0 * drop_pa / density)


@dataclass(frozen=True, slots=True)
class Branch:
    """One element of the suction side as a tree away from the pump."""

    id: str
    volume_m3: float
    children: tuple[str, ...]


def volume_behind(tree: Mapping[str, Branch], order: tuple[str, ...]) -> dict[str, float]:
    """Air volume [m3] of each element and everything beyond it. ``order`` lists parents before children."""
    behind: dict[str, float] = {}
    for element_id in reversed(order):
        branch = tree[element_id]
        behind[element_id] = branch.volume_m3 + sum(behind[child] for child in branch.children)
    return behind


def sweep(
    tree: Mapping[str, Branch], order: tuple[str, ...], entering_m3: float, divide: bool = True
) -> dict[str, float]:
    """Air [m3] that arrives at each element when ``entering_m3`` comes in at the first; only those that get any.

    With ``divide`` it splits at a branch by the volume behind each way (a dead end is reached by its volume only);
    without, each way is taken to get all of it (an upper bound where the split is not known).
    """
    behind = volume_behind(tree, order)
    arriving = {order[0]: entering_m3} if order and entering_m3 > 0.0 else {}
    for element_id in order:
        left = arriving.get(element_id, 0.0) - tree[element_id].volume_m3
        if left <= 0.0:
            continue
        total = sum(behind[child] for child in tree[element_id].children)
        for child in tree[element_id].children:
            share = (behind[child] / total if total > 0.0 else 1.0) if divide else 1.0
            if share > 0.0:
                arriving[child] = left * share
    return arriving


def moved_on(
    tree: Mapping[str, Branch], order: tuple[str, ...], lying: Mapping[str, float], entering_m3: float
) -> dict[str, float]:
    """Air [m3] that arrives at each element, or moves on what lay there, when ``entering_m3`` more comes in.

    ``lying`` is what arrived at each element before: debris lies where that plug ended, and the new air pushes all of
    it on by its own volume. Each way is taken to get all of the new air. Without ``lying`` it is an undivided
    :func:`sweep`.
    """
    arriving: dict[str, float] = {}
    if not order or entering_m3 <= 0.0:
        return arriving
    arriving[order[0]] = entering_m3
    for element_id in order:
        before = lying.get(element_id, 0.0)
        if before > 0.0:
            arriving[element_id] = entering_m3 + before
        left = arriving.get(element_id, 0.0) - tree[element_id].volume_m3
        for child in tree[element_id].children if left > 0.0 else ():
            arriving[child] = left
    return arriving
