"""The air network: from a description to the pressure and flow at every part, with a bound on the error.

``pack`` a description once, then ``solve`` one operating point, ``solve_batch`` many, ``sweep`` engine speed.
"""

from vanewise.network.balance import mass_imbalance
from vanewise.network.calibrate import calibrate_preload
from vanewise.network.margin import MarginMap, margin_map
from vanewise.network.observe import gauge_ports, gauge_reading, gyros, observe
from vanewise.network.pack import pack
from vanewise.network.packed import PackedNetwork
from vanewise.network.sensitivity import sensitivities, smooth_keys
from vanewise.network.solve import (
    best_engine,
    branch_flows,
    cases,
    kernel_available,
    solve,
    solve_batch,
    solve_in_slices,
)
from vanewise.network.source import source_flow, with_source, workshop_suction
from vanewise.network.sweep import Sweep, SweepPoint, shape, sweep
from vanewise.network.types import (
    BatchCases,
    BatchSolution,
    NotSolved,
    Observables,
    OperatingPoint,
    Solved,
    States,
)

__all__ = [
    "BatchCases",
    "BatchSolution",
    "MarginMap",
    "NotSolved",
    "Observables",
    "OperatingPoint",
    "PackedNetwork",
    "Solved",
    "States",
    "Sweep",
    "SweepPoint",
    "best_engine",
    "branch_flows",
    "calibrate_preload",
    "cases",
    "gauge_ports",
    "gauge_reading",
    "gyros",
    "kernel_available",
    "margin_map",
    "mass_imbalance",
    "observe",
    "pack",
    "sensitivities",
    "shape",
    "smooth_keys",
    "solve",
    "solve_batch",
    "solve_in_slices",
    "source_flow",
    "sweep",
    "with_source",
    "workshop_suction",
]
