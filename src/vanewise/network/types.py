"""The values that pass into and out of the solver. Pressures are absolute pascal, flows kg/s, temperatures K."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Literal

import msgspec
import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
States = Mapping[str, float]
"""Overrides of the description, keyed ``part.state`` (unit of the state table) or ``part.field`` (SI)."""

Engine = Literal["kernel", "numpy"]
"""Which solver answers: the compiled kernel, or numpy. Same answers within 0.1 Pa."""

Status = Literal["converged", "retried", "continued", "not converged"]
STATUSES: tuple[Status, ...] = ("converged", "retried", "continued", "not converged")


class OperatingPoint(msgspec.Struct, frozen=True, kw_only=True):
    """Where and how fast: engine speed, pressure altitude, outside air temperature (None: the standard day)."""

    engine_rpm: float
    altitude_m: float = 0.0
    temperature_k: float | None = None
    cabin_temperature_k: float | None = None


@dataclass(frozen=True, slots=True)
class BatchCases:
    """Many scenarios on one network: a few columns of overrides, never a full array of parameters per scenario.

    ``values`` has shape (n, len(columns)); all others have shape (n,). ``temperature_k`` is outside air;
    ``cabin_temperature_k`` None means as warm as outside, but at least 15 C. ``source_pa`` is the workshop source's
    pressure minus ambient (negative: suction), used only by a network packed with a source port.

    ``run`` says that the rows of ``values`` come in runs of so many equal ones (one system at many operating points),
    one number for all runs or one for each: geometry is then worked out once a run. It changes no answer.
    """

    columns: tuple[str, ...]
    values: Floats
    engine_rpm: Floats
    ambient_pa: Floats
    temperature_k: Floats
    cabin_temperature_k: Floats | None = None
    source_pa: Floats | None = None
    run: int | NDArray[np.int64] = 1

    @property
    def count(self) -> int:
        return int(self.engine_rpm.shape[0])

    def rows(self, index: NDArray[np.int64] | slice) -> BatchCases:
        """The scenarios ``index`` as a batch of their own."""
        return replace(
            self,
            values=self.values[index],
            engine_rpm=self.engine_rpm[index],
            ambient_pa=self.ambient_pa[index],
            temperature_k=self.temperature_k[index],
            cabin_temperature_k=None if self.cabin_temperature_k is None else self.cabin_temperature_k[index],
            source_pa=None if self.source_pa is None else self.source_pa[index],
            run=1,
        )


@dataclass(frozen=True, slots=True)
class BatchSolution:
    """Pressures of every junction for every scenario, with a verdict for each; a bad scenario never raises.

    ``pressure_pa`` (n, junctions) holds NaN where ``status`` is 3 (not converged); ``radius_pa`` (n,) bounds the
    distance to the true solution of the modelled equations (a numerical enclosure); ``mass_residual`` in kg/s.
    ``delivery_k`` (n,) is the temperature of the air at the pump's outlet that they were solved with.
    ``lift`` (n,) is the opening found of a regulator that senses elsewhere than at its own port; None without one.
    """

    pressure_pa: Floats
    status: NDArray[np.int8]
    radius_pa: Floats
    mass_residual: Floats
    iterations: NDArray[np.int16]
    delivery_k: Floats
    lift: Floats | None = None

    def rows(self, index: NDArray[np.int64] | slice) -> BatchSolution:
        """The scenarios ``index`` as a solution of their own."""
        return BatchSolution(
            pressure_pa=self.pressure_pa[index],
            status=self.status[index],
            radius_pa=self.radius_pa[index],
            mass_residual=self.mass_residual[index],
            iterations=self.iterations[index],
            delivery_k=self.delivery_k[index],
            lift=None if self.lift is None else self.lift[index],
        )


class Solved(msgspec.Struct, frozen=True, kw_only=True):
    """One operating point solved, by names."""

    status: Status
    radius_pa: float
    pressure_pa: Mapping[str, float]
    """Absolute pressure at every ``part.port``."""
    flow_kg_s: Mapping[str, float]
    """Mass flow through every branch, keyed by part or line id, positive in its own forward direction."""
    ambient_pa: float
    temperature_k: float


class NotSolved(msgspec.Struct, frozen=True, kw_only=True):
    """No answer: nothing downstream accepts this."""

    reason: str
    worst_junction: str
    mass_residual: float


@dataclass(frozen=True, slots=True)
class Observables:
    """What a person could read, for each scenario of a batch, all shape (n,) and in Pa of difference.

    ``gauge_pa`` is what a perfect gauge in the panel gauge's place would read (suction or pressure, positive);
    ``drop_pa`` the drop across each gyro; ``lamp_pa`` the difference the lamp switch sees (or None); ``pump_load_pa``
    the outlet-to-inlet difference of each pump, which the gauge does not show.
    """

    gauge_pa: Floats
    drop_pa: Mapping[str, Floats]
    pump_load_pa: Mapping[str, Floats]
    lamp_pa: Floats | None = None
    other: Mapping[str, Floats] = field(default_factory=dict)
