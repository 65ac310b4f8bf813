"""A workshop source in the network: suction or low-pressure air with a flow meter at a port, engine off.

A dead pump gives no sweep. A limited suction source at a chosen port, with the gyros connected, still proves the rest
of the system: the flow meter reads what jets, leaks and regulator let through together. With the regulator fitted, its
intake covered, or the regulator taken out and its port blanked, differences of readings name the seat or a leak.

The source must stay within what the instruments stand (6 inHg here), and gyros spin: do not move the aircraft after.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from typing import Literal

import numpy as np

from vanewise.errors import NoAnswer, Problem, wrong
from vanewise.network.pack import pack
from vanewise.network.packed import PackedNetwork
from vanewise.network.solve import branch_flows, cases, solve_batch
from vanewise.network.types import BatchCases, BatchSolution, Engine, Floats, OperatingPoint, States
from vanewise.quantities import PA_PER_INHG

LIMIT_PA = 6.0 * PA_PER_INHG
"""Most that a workshop source may give: judgement, to spare the instruments."""

RegulatorIs = Literal["fitted", "covered", "blanked"]


@lru_cache(maxsize=32)
def with_source(packed: PackedNetwork, port: str) -> PackedNetwork:
    """The same network, its regulators set as before, with a workshop source joined to ``port``."""
    preloads = {
        f"{owner}.preload": entry.values["preload"]
        for owner, entry in packed.owners.items()
        if entry.kind == "regulator"
    }
    return pack(packed.description, source_port=port, calibrate=False).with_values(preloads)


def engine_off(packed: PackedNetwork, *, pumps_capped: bool = True) -> dict[str, float]:
    """States of a stopped engine. With ``pumps_capped`` the hose at each pump is off and capped, so none leaks back."""
    states: dict[str, float] = {}
    for owner, entry in packed.owners.items():
        if entry.kind == "pump":
            states[f"{owner}.stopped"] = 1.0
            if pumps_capped:
                states[f"{owner}.slip"] = 0.0
    return states


def regulator_states(packed: PackedNetwork, regulator: RegulatorIs) -> dict[str, float]:
    """Test states of every regulator: fitted as it is, its intake covered by hand, or taken out and blanked."""
    names = [owner for owner, entry in packed.owners.items() if entry.kind == "regulator"]
    states = {f"{name}.covered": float(regulator == "covered") for name in names}
    return states | {f"{name}.blanked": float(regulator == "blanked") for name in names}


def source_flow(packed: PackedNetwork, batch: BatchCases, solution: BatchSolution) -> Floats:
    """Flow meter reading of every scenario [kg/s], positive out of the network into the source; NaN if not solved."""
    return branch_flows(packed, batch, solution)[:, packed.branch("workshop")]


def workshop_suction(
    packed: PackedNetwork,
    port: str,
    suction_pa: float,
    states: States | None = None,
    *,
    regulator: RegulatorIs = "fitted",
    pumps_capped: bool = True,
    altitude_m: float = 0.0,
    temperature_k: float | None = None,
    engine: Engine = "numpy",
) -> float:
    """What the flow meter reads [kg/s] at ``suction_pa`` [Pa] (negative: low-pressure air blown in), engine off.

    The sign follows the air: positive out of the aircraft's system. Raises InputError above 6 inHg or for an unknown
    port, NoAnswer when the network has no proven solution.
    """
    if abs(suction_pa) > LIMIT_PA:
        raise wrong(
            "workshop source",
            f"at most {LIMIT_PA / PA_PER_INHG:.0f} inHg, to spare the instruments",
            f"{suction_pa / PA_PER_INHG:.1f} inHg",
            "limit the source before it is connected",
        )
    joined = packed if packed.source_port == port else with_source(packed, port)
    merged: Mapping[str, float] = {
        **engine_off(joined, pumps_capped=pumps_capped),
        **regulator_states(joined, regulator),
        **(states or {}),
    }
    point = OperatingPoint(engine_rpm=0.0, altitude_m=altitude_m, temperature_k=temperature_k)
    batch = cases([point], merged, source_pa=np.array([-suction_pa]))
    solution = solve_batch(joined, batch, engine)
    if solution.status[0] == 3:
        raise NoAnswer(
            Problem(
                where=f"workshop source at {port}",
                expected="a mass balance that closes at every junction",
                found="none from any start",
                next_step="keep the description and the states and report the case",
            )
        )
    return float(source_flow(joined, batch, solution)[0])
