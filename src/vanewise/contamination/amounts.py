"""How debris shares out in running flow: where most of it goes. It sorts the list of suspects and never shortens it.

Each part passes on what it does not keep, in proportion to the flow that leaves it by each way, so that what enters is
what stays plus what leaves: x = (1 - T)^-1 m with T from the solved flows and the retention of each part. The unit is
one of whatever was shed.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Literal

import msgspec
import numpy as np

from vanewise.aircraft.description import AircraftDescription
from vanewise.contamination.directions import NO_FLOW_KG_S
from vanewise.contamination.plumbing import DIRECTED_BARRIERS, FILTER_KINDS, Element, Plumbing, plumbing
from vanewise.contamination.types import BarrierFinding, Finding
from vanewise.errors import wrong
from vanewise.network.types import Floats, Solved
from vanewise.values import retention

Size = Literal["dust", "chips"]


class Amounts(msgspec.Struct, frozen=True, kw_only=True):
    """Shares of what was shed: what passes through each element, what stays in it, and what leaves the aircraft."""

    arriving: Mapping[str, float]
    kept: Mapping[str, float]
    overboard: float


def amounts(
    description: AircraftDescription,
    solution: Solved,
    source: str,
    *,
    findings: Sequence[Finding] = (),
    size: Size = "dust",
) -> Amounts:
    """Where one unit of debris shed at ``source`` in running flow goes, by the solved flows.

    Raises :class:`InputError` for a source that is not there. Retention figures are judgement: compare, do not add up.
    """
    graph = plumbing(description)
    if source not in graph.elements:
        raise wrong("source", f"one of {', '.join(sorted(graph.elements))}", f'"{source}"', "name a part or line")
    names = tuple(graph.elements)
    at = {name: number for number, name in enumerate(names)}
    ways = _ways_out(graph, solution)
    keeps = np.array([_kept_share(graph.elements[name], findings, size) for name in names])
    # The source lets go of everything it shed; only what comes back to it is kept as by any other part.
    passing = np.where(np.array(names) == source, 1.0, 1.0 - keeps)
    transfer = np.zeros((len(names), len(names)))
    for name, leaving in ways.items():
        for target, share in leaving.items():
            if target:
                transfer[at[target], at[name]] += share * passing[at[name]]
    shed = np.zeros(len(names))
    shed[at[source]] = 1.0
    arriving: Floats = np.asarray(np.linalg.solve(np.eye(len(names)) - transfer, shed), np.float64)
    kept = {name: float(arriving[at[name]] * (1.0 - passing[at[name]])) for name in names}
    overboard = sum(
        float(arriving[at[name]] * passing[at[name]]) * leaving.get("", 0.0) for name, leaving in ways.items()
    )
    if not ways[source]:
        # No air moves where it was shed, so it lies there.
        kept[source] = 1.0
    return Amounts(arriving={name: float(arriving[at[name]]) for name in names}, kept=kept, overboard=overboard)


def _ways_out(graph: Plumbing, solution: Solved) -> dict[str, dict[str, float]]:
    """Per element, the share of what leaves it that goes to each next one; the empty name is out of the aircraft."""
    out: dict[str, dict[str, float]] = {name: {} for name in graph.elements}
    leaving: dict[str, dict[str, float]] = {}
    entering: dict[str, float] = {}
    for element in graph.elements.values():
        if not element.is_line:
            continue
        flow = solution.flow_kg_s.get(element.id, 0.0)
        if abs(flow) < NO_FLOW_KG_S:
            continue
        first, last = element.ports if flow > 0 else element.ports[::-1]
        before, after = graph.owner(first), graph.owner(last)
        out[element.id] = {after.id if after is not None else "": 1.0}
        if before is not None:
            leaving.setdefault(before.id, {})[element.id] = abs(flow)
        if after is not None:
            entering[after.id] = entering.get(after.id, 0.0) + abs(flow)
    for part, lines in leaving.items():
        # Air that enters by a line and leaves by none goes overboard: a relief valve's dump, a case open to the cabin.
        lost = max(0.0, entering.get(part, 0.0) - sum(lines.values()))
        total = sum(lines.values()) + lost
        out[part] = {**{line: flow / total for line, flow in lines.items()}, "": lost / total}
    for part in entering:
        if part not in leaving:
            out[part] = {"": 1.0}
    return out


def _kept_share(element: Element, findings: Sequence[Finding], size: Size) -> float:
    if element.kind in FILTER_KINDS:
        return retention.FILTER[f"{_state_found(element, findings)}, {size}"].number
    value = retention.OTHER.get(f"{element.kind}, {size}")
    return 0.0 if value is None else value.number


def _state_found(element: Element, findings: Sequence[Finding]) -> str:
    """The worst state anybody found; a directed element is intact only the right way round."""
    states = {
        finding.state
        for finding in findings
        if isinstance(finding, BarrierFinding)
        and finding.part == element.id
        and not (
            finding.state == "intact" and element.kind in DIRECTED_BARRIERS and finding.right_way_round is not True
        )
    }
    return next((state for state in ("absent", "breached", "reversed", "intact") if state in states), "unknown")
