"""The network and the scenarios that the solver's benches and studies share: 19 free junctions, two pumps."""

from __future__ import annotations

import msgspec
import numpy as np

from vanewise.aircraft.description import AircraftDescription
from vanewise.aircraft.layouts import make
from vanewise.network import BatchCases, PackedNetwork
from vanewise.network.atmosphere import pressure, standard_temperature
from vanewise.quantities import PA_PER_INHG

HIGHEST_M = 7000.0


def nineteen_junctions() -> AircraftDescription:
    """Twin pumps in suction duty; one pump's outlet opens without an elbow, which leaves 19 free junctions."""
    base = make("suction-twin-pumps")
    parts = tuple(
        msgspec.structs.replace(part, open={**part.open, "outlet": "engine bay"}) if part.id == "left_pump" else part
        for part in base.parts
    )
    lines = tuple(line for line in base.lines if line.id != "left_outlet_elbow")
    return msgspec.structs.replace(base, parts=parts, lines=lines)


def plausible(packed: PackedNetwork, count: int, seed: int) -> BatchCases:
    """States as a diagnosis draws them: worn pumps, loaded filters, small leaks, at 600 to 2600 rpm, to 18,000 ft."""
    rng = np.random.default_rng(seed)
    columns = {key: _plausible(key.rpartition(".")[2], count, rng) for key in packed.override_keys}
    return _batch(columns, count, rng, lowest_rpm=600.0)


def hard(packed: PackedNetwork, count: int, seed: int) -> BatchCases:
    """Everything wrong at once, far beyond what is met: for studies of failure, not of speed."""
    rng = np.random.default_rng(seed)
    columns = {key: _hard(key.rpartition(".")[2], count, rng) for key in packed.override_keys}
    return _batch(columns, count, rng, lowest_rpm=0.0)


def _batch(
    columns: dict[str, np.ndarray | None], count: int, rng: np.random.Generator, lowest_rpm: float
) -> BatchCases:
    used = {key: column for key, column in columns.items() if column is not None}
    altitude = rng.uniform(0.0, HIGHEST_M, count)
    return BatchCases(
        columns=tuple(used),
        values=np.stack(list(used.values()), axis=1),
        engine_rpm=rng.uniform(lowest_rpm, 2700.0, count),
        ambient_pa=np.array([pressure(height) for height in altitude]),
        temperature_k=np.array([standard_temperature(height) for height in altitude]) + rng.normal(0.0, 10.0, count),
    )


def _log(rng: np.random.Generator, low: float, high: float, count: int) -> np.ndarray:
    return np.exp(rng.uniform(np.log(low), np.log(high), count))


def _sometimes(rng: np.random.Generator, share: float, value: np.ndarray, otherwise: float) -> np.ndarray:
    return np.where(rng.random(value.size) < share, value, otherwise)


def _plausible(name: str, n: int, rng: np.random.Generator) -> np.ndarray | None:
    draws = {
        "slip": lambda: _log(rng, 0.7, 4.0, n),
        "displacement_factor": lambda: rng.uniform(0.9, 1.1, n),
        "loading": lambda: _log(rng, 0.8, 10.0, n),
        "filter_loading": lambda: _log(rng, 0.8, 10.0, n),
        "jet_fraction": lambda: rng.uniform(0.8, 1.1, n),
        "set_shift_inhg": lambda: rng.normal(0.0, 0.2, n),
        "held_open": lambda: _sometimes(rng, 0.3, _log(rng, 0.1, 5.0, n), 0.0),
        "case_leak": lambda: _sometimes(rng, 0.3, _log(rng, 0.1, 8.0, n), 0.0),
    }
    return draws[name]() if name in draws else None


def _hard(name: str, n: int, rng: np.random.Generator) -> np.ndarray | None:
    draws = {
        "slip": lambda: _log(rng, 0.1, 50.0, n),
        "stopped": lambda: _sometimes(rng, 0.15, np.ones(n), 0.0),
        "outlet_blocked": lambda: _sometimes(rng, 0.2, 1.0 - _log(rng, 1e-4, 1.0, n), 0.0),
        "displacement_factor": lambda: rng.uniform(0.2, 1.3, n),
        "loading": lambda: _log(rng, 0.1, 1e5, n),
        "missing": lambda: _sometimes(rng, 0.1, np.ones(n), 0.0),
        "bypass_mm2": lambda: _sometimes(rng, 0.2, _log(rng, 1e-2, 300.0, n), 0.0),
        "filter_loading": lambda: _log(rng, 0.1, 1e5, n),
        "jet_fraction": lambda: _log(rng, 0.01, 2.0, n),
        "case_leak": lambda: _sometimes(rng, 0.4, _log(rng, 1e-3, 100.0, n), 0.0),
        "capped": lambda: _sometimes(rng, 0.1, np.ones(n), 0.0),
        "leak": lambda: _sometimes(rng, 0.4, _log(rng, 1e-3, 400.0, n), 0.0),
        "off": lambda: _sometimes(rng, 0.05, np.ones(n), 0.0),
        "open_fraction": lambda: _sometimes(rng, 0.3, _log(rng, 1e-4, 1.0, n), 1.0),
        "set_shift_inhg": lambda: rng.uniform(-4.0, 4.0, n),
        "held_open": lambda: _sometimes(rng, 0.4, _log(rng, 1e-2, 100.0, n), 0.0),
        "droop": lambda: _log(rng, 0.003, 5.0, n) * PA_PER_INHG,
        "stuck_shut": lambda: _sometimes(rng, 0.1, np.ones(n), 0.0),
        "stuck_open": lambda: _sometimes(rng, 0.1, np.ones(n), 0.0),
        "covered": lambda: _sometimes(rng, 0.1, np.ones(n), 0.0),
        "blanked": lambda: _sometimes(rng, 0.05, np.ones(n), 0.0),
        "opening": lambda: _log(rng, 0.002, 2.0, n) * PA_PER_INHG,
    }
    return draws[name]() if name in draws else None
