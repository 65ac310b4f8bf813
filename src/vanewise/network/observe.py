"""What a person could read off a solved network: gauge, lamp, the drop across each gyro, the load on each pump.

Readings are differences in Pa and those of perfect instruments: errors of a gauge belong to the inference.
"""

from __future__ import annotations

from vanewise.aircraft.description import AircraftDescription
from vanewise.aircraft.kinds import KINDS
from vanewise.network.packed import PackedNetwork
from vanewise.network.types import BatchCases, BatchSolution, Floats, Observables

UNKNOWN = "unknown"


def gyros(description: AircraftDescription) -> tuple[str, ...]:
    """Ids of the air-driven instruments, in the order of the description."""
    return tuple(part.id for part in description.parts if KINDS[part.kind].is_gyro)


def across_gyro(description: AircraftDescription) -> tuple[str, str]:
    """The usual gauge connection across an instrument: its inlet and outlet (the attitude indicator where fitted)."""
    attitude = [part.id for part in description.parts_of("attitude indicator")]
    first = (*attitude, *gyros(description))[0]
    return f"{first}.inlet", f"{first}.outlet" if description.duty == "suction" else "cabin"


def line_against_cabin(description: AircraftDescription) -> tuple[str, str]:
    """The other usual connection: the regulator's line against the cabin."""
    regulators = description.parts_of("regulator")
    line = f"{regulators[0].id}.gyro_side" if regulators else across_gyro(description)[1]
    return ("cabin", line) if description.duty == "suction" else (line, "cabin")


def gauge_ports(description: AircraftDescription) -> tuple[str, str]:
    """The two points the gauge is connected across; across an instrument where that is not known."""
    gauge = description.gauge
    if UNKNOWN in (gauge.high, gauge.low):
        return across_gyro(description)
    return gauge.high, gauge.low


def difference(packed: PackedNetwork, pressure_pa: Floats, high: str, low: str) -> Floats:
    """Pressure at ``high`` minus pressure at ``low``, (n,), from junction pressures (n, junctions)."""
    return pressure_pa[:, packed.junction(high)] - pressure_pa[:, packed.junction(low)]


def gauge_reading(packed: PackedNetwork, pressure_pa: Floats) -> Floats:
    """What a perfect panel gauge reads [Pa], (n,): suction or pressure, positive when the system works."""
    return difference(packed, pressure_pa, *gauge_ports(packed.description))


def observe(packed: PackedNetwork, batch: BatchCases, solution: BatchSolution) -> Observables:
    """Observables of every scenario, all (n,) in Pa; NaN where a scenario is not solved.

    A gyro that is disconnected and capped is not driven: its drop is 0. ``other`` holds ``gauge_across_gyro`` and
    ``gauge_line_to_cabin``, the two usual gauge connections, whichever the aircraft has.
    """
    p = solution.pressure_pa
    description = packed.description
    lamp = description.lamp
    return Observables(
        gauge_pa=gauge_reading(packed, p),
        drop_pa={gyro: _gyro_drop(packed, batch, p, gyro) for gyro in gyros(description)},
        pump_load_pa={
            part.id: difference(packed, p, f"{part.id}.delivery", f"{part.id}.inlet")
            for part in description.parts_of("pump")
        },
        lamp_pa=None if lamp is None else difference(packed, p, lamp.high, lamp.low),
        other={
            "gauge_across_gyro": difference(packed, p, *across_gyro(description)),
            "gauge_line_to_cabin": difference(packed, p, *line_against_cabin(description)),
        },
    )


def _gyro_drop(packed: PackedNetwork, batch: BatchCases, p: Floats, gyro: str) -> Floats:
    drop = difference(packed, p, f"{gyro}.inlet", f"{gyro}.outlet")
    key = f"{gyro}.capped"
    if key in batch.columns:
        return drop * (1.0 - batch.values[:, batch.columns.index(key)])
    return drop
