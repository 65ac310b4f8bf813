"""Air and its flow through single lines and fittings, by ``fluids``."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Iterator

import fluids

from oracles.kit import Case, oracle_set

GAS_CONSTANT_AIR = 287.05287  # J/(kg K), US Standard Atmosphere 1976
EARTH_RADIUS_M = 6356766.0  # the same, for geopotential height
FEET_M = 0.3048


@oracle_set(
    "standard_atmosphere",
    library="fluids",
    about="US Standard Atmosphere 1976 at geopotential heights; fluids takes geometric height, so it is converted.",
)
def _standard_atmosphere() -> Iterator[Case]:
    for feet in (-1000, 0, 500, 2000, 5000, 8000, 10000, 12500, 15000, 18000, 25000):
        geopotential = feet * FEET_M
        geometric = EARTH_RADIUS_M * geopotential / (EARTH_RADIUS_M - geopotential)
        air = fluids.ATMOSPHERE_1976(geometric)
        yield (
            {"geopotential_m": geopotential, "geometric_m": geometric},
            {"pressure_pa": air.P, "temperature_k": air.T, "density_kg_m3": air.rho, "viscosity_pa_s": air.mu},
        )


def _consistent(case: dict[str, float], friction_at: Callable[[float], float]) -> tuple[dict, dict]:
    """The mass flow that agrees with the friction factor of its own Reynolds number, by repeated substitution."""
    density = case["upstream_pa"] / (GAS_CONSTANT_AIR * case["temperature_k"])
    wet = math.pi * case["bore_m"] * case["viscosity_pa_s"]
    flow = 1e-6
    for _ in range(500):
        new = fluids.isothermal_gas(
            rho=density,
            fd=friction_at(4.0 * flow / wet),
            P1=case["upstream_pa"],
            P2=case["downstream_pa"],
            L=case["length_m"],
            D=case["bore_m"],
        )
        if abs(new - flow) <= 1e-12 * new:
            return case, {"mass_flow_kg_s": new, "reynolds": 4.0 * new / wet}
        flow = 0.5 * (flow + new)
    raise ArithmeticError(f"no mass flow agrees with its own friction factor: {case}")


def _line(length: float, bore: float, roughness: float, high: float, drop: float, kelvin: float) -> dict[str, float]:
    return {
        "length_m": length,
        "bore_m": bore,
        "roughness_m": roughness,
        "upstream_pa": high,
        "downstream_pa": high - drop,
        "temperature_k": kelvin,
        "viscosity_pa_s": fluids.ATMOSPHERE_1976.viscosity(kelvin),
    }


def _colebrook(relative_roughness: float) -> Callable[[float], float]:
    return lambda re: fluids.friction.friction_factor(Re=max(re, 2500.0), eD=relative_roughness, Method="Colebrook")


@oracle_set(
    "isothermal_pipe",
    library="fluids",
    about="Isothermal flow of ideal air with the acceleration term, density at the upstream end, Darcy friction factor "
    "by Colebrook at the Reynolds number of the answer; turbulent cases only (Reynolds number above 4000).",
)
def _isothermal_pipe() -> Iterator[Case]:
    bores, lengths = (0.0094, 0.0127, 0.0159), (0.3, 1.2, 6.0)
    for bore, length, drop, roughness in itertools.product(bores, lengths, (500.0, 3000.0, 15000.0), (1.5e-6, 5e-5)):
        for high, kelvin in ((101325.0, 288.15), (69681.7, 268.338)):
            inputs, answer = _consistent(
                _line(length, bore, roughness, high, drop, kelvin), _colebrook(roughness / bore)
            )
            if answer["reynolds"] > 4000.0:
                yield inputs, answer


@oracle_set(
    "laminar_pipe",
    library="fluids",
    about="As isothermal_pipe, with friction factor 64/Re: thin lines at Reynolds numbers below 2000.",
)
def _laminar_pipe() -> Iterator[Case]:
    for bore, length, drop in itertools.product((0.003, 0.005), (1.0, 3.0), (5.0, 40.0, 150.0)):
        inputs, answer = _consistent(
            _line(length, bore, 1.5e-6, 101325.0, drop, 288.15), fluids.friction.friction_laminar
        )
        if answer["reynolds"] < 2000.0:
            yield inputs, answer


@oracle_set(
    "isothermal_choking",
    library="fluids",
    about="Downstream pressure at which isothermal flow through a line chokes, for a given Darcy friction factor.",
)
def _isothermal_choking() -> Iterator[Case]:
    for friction, length, bore in itertools.product((0.02, 0.03), (0.1, 0.5, 3.0), (0.0094, 0.0159)):
        low = fluids.P_isothermal_critical_flow(P=101325.0, fd=friction, L=length, D=bore)
        yield (
            {"friction_factor": friction, "length_m": length, "bore_m": bore, "upstream_pa": 101325.0},
            {"choking_pa": low},
        )


@oracle_set(
    "critical_pressure_ratio",
    library="fluids",
    about="Pressure ratio at which an ideal nozzle chokes, for a ratio of specific heats.",
)
def _critical_pressure_ratio() -> Iterator[Case]:
    for ratio in (1.3, 1.4, 1.667):
        yield {"heat_ratio": ratio}, {"pressure_ratio": fluids.P_critical_flow(1.0, ratio)}


@oracle_set(
    "elbow",
    library="fluids",
    about="Loss coefficient of a smooth 90 degree bend (Rennels) and the friction factor of the straight line before "
    "it (Colebrook), so that K/f is the bend's equivalent length in bores. Bend radius in bores.",
)
def _elbow() -> Iterator[Case]:
    bore, roughness = 0.416 * 0.0254, 1.5e-6
    for reynolds, radius in itertools.product((8e3, 16e3, 40e3), (1.0, 1.5, 2.0, 3.0)):
        friction = fluids.friction.friction_factor(Re=reynolds, eD=roughness / bore, Method="Colebrook")
        loss = fluids.bend_rounded(Di=bore, angle=90.0, rc=radius * bore, fd=friction, method="Rennels")
        yield (
            {"reynolds": reynolds, "bend_radius_bores": radius, "bore_m": bore, "roughness_m": roughness},
            {"loss_coefficient": loss, "friction_factor": friction, "equivalent_length_bores": loss / friction},
        )


@oracle_set(
    "compression_temperature",
    library="fluids",
    about="Temperature of air behind a compressor by its pressure ratio and isentropic efficiency, heat ratio 1.4.",
)
def _compression_temperature() -> Iterator[Case]:
    for ratio, efficiency in itertools.product((1.02, 1.1, 1.2, 1.35, 1.5, 2.0, 3.0), (0.6, 1.0)):
        after = fluids.isentropic_T_rise_compression(T1=288.15, P1=1e5, P2=ratio * 1e5, k=1.4, eta=efficiency)
        yield {"pressure_ratio": ratio, "efficiency": efficiency}, {"temperature_ratio": after / 288.15}
