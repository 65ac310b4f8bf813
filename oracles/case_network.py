"""A whole network of pipes, by ``pandapipes``."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pandapipes
from pandapipes.properties.fluids import create_constant_fluid

from oracles.kit import Case, oracle_set

GAS_CONSTANT_AIR = 287.05287  # J/(kg K)
VISCOSITY_PA_S = 1.7894e-5  # air at 288.15 K, US Standard Atmosphere 1976
TEMPERATURE_K = 288.15
NORMAL_PA, NORMAL_K = 101325.0, 273.15  # the library's own reference state of a gas
AMBIENT_PA = 101325.0  # what the library takes as zero of its pressures at height zero

# Nodes 0 (open to still air) to 9; lengths m, bores m. Two meshes, a bridge and a dead-end branch to the second user.
PIPES = (
    (0, 1, 0.50, 0.0190),
    (1, 2, 1.60, 0.0110),
    (1, 3, 0.30, 0.0159),
    (3, 2, 0.35, 0.0110),
    (2, 4, 0.40, 0.0127),
    (3, 5, 3.60, 0.0110),
    (4, 5, 0.30, 0.0094),
    (4, 6, 0.50, 0.0127),
    (5, 7, 1.20, 0.0110),
    (6, 7, 0.35, 0.0094),
    (6, 8, 0.60, 0.0127),
    (7, 9, 0.45, 0.0127),
)
ROUGHNESS_M = 1.5e-6


@oracle_set(
    "pipe_network",
    library="pandapipes",
    about="Twelve pipes with two meshes, node 0 at ambient pressure, air drawn off at two nodes, turbulent in every "
    "pipe. Ideal gas at constant temperature and viscosity; friction model Colebrook; law of p1^2 - p2^2 without the "
    "acceleration term.",
)
def _pipe_network() -> Iterator[Case]:
    for drawn in ({8: 1.4e-3, 9: 3.0e-3}, {8: 0.8e-3, 9: 3.6e-3}, {8: 1.6e-3, 9: 3.2e-3}):
        yield (
            {
                "pipes": [list(pipe) for pipe in PIPES],
                "roughness_m": ROUGHNESS_M,
                "ambient_pa": AMBIENT_PA,
                "temperature_k": TEMPERATURE_K,
                "viscosity_pa_s": VISCOSITY_PA_S,
                "drawn_kg_s": {str(node): flow for node, flow in drawn.items()},
            },
            _solve(drawn),
        )


def network(drawn: dict[int, float]) -> Any:
    """The network, built and not yet solved; ``drawn`` is the mass flow [kg/s] taken off at each user."""
    air = create_constant_fluid(
        "air",
        "gas",
        density=NORMAL_PA / (GAS_CONSTANT_AIR * NORMAL_K),
        viscosity=VISCOSITY_PA_S,
        heat_capacity=1005.0,
        compressibility=1.0,
        der_compressibility=0.0,
        molar_mass=28.96,
    )
    net = pandapipes.create_empty_network(fluid=air)
    nodes = 1 + max(max(start, end) for start, end, _, _ in PIPES)
    for _ in range(nodes):
        pandapipes.create_junction(net, pn_bar=0.0, tfluid_k=TEMPERATURE_K)
    pandapipes.create_ext_grid(net, 0, p_bar=0.0, t_k=TEMPERATURE_K)
    for start, end, length, bore in PIPES:
        pandapipes.create_pipe_from_parameters(
            net, start, end, length_km=length / 1000.0, inner_diameter_mm=bore * 1000.0, k_mm=ROUGHNESS_M * 1000.0
        )
    for node, flow in drawn.items():
        pandapipes.create_sink(net, node, mdot_kg_per_s=flow)
    return net


def flow(net: Any) -> None:
    """Solve it."""
    pandapipes.pipeflow(
        net,
        friction_model="colebrook",
        mode="hydraulics",
        tol_p=1e-10,
        tol_m=1e-12,
        tol_res=1e-10,
        max_iter_hyd=200,
        max_iter_colebrook=200,
    )


def _solve(drawn: dict[int, float]) -> dict[str, list[float]]:
    net = network(drawn)
    flow(net)
    return {
        "pressure_pa": [AMBIENT_PA + 1e5 * float(bar) for bar in net.res_junction.p_bar],
        "flow_kg_s": [float(flow) for flow in net.res_pipe.mdot_from_kg_per_s],
        "reynolds": [float(number) for number in net.res_pipe.reynolds],
    }
