"""Scenarios drawn to be hard on the solver: several faults at once, far past what an aircraft would fly with.

Ranges are our own choice, wider than any signature or fault model uses: a leak from a pinhole to an open hose, a filter
from new to plugged solid, a pump that slips thirty times its share, a hose all but shut, a regulator with a thousandth
of its opening band.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from vanewise.network import BatchCases, PackedNetwork, atmosphere

Floats = NDArray[np.float64]
Draw = Callable[[float], Floats]
"""From the number as built to one for each scenario."""


def hard_batch(packed: PackedNetwork, count: int, seed: int) -> BatchCases:
    """``count`` hard scenarios on one network: every part and line with several of its states drawn at once."""
    rng = np.random.default_rng(seed)
    keys = set(packed.override_keys)
    columns = {}
    for owner, entry in packed.owners.items():
        for name, draw in _draws(rng, count)[_family(entry.kind)].items():
            key = f"{owner}.{name}"
            if key in keys:
                columns[key] = draw(packed.neutral(key))
    feet = rng.uniform(0.0, 25000.0, count)
    ambient = np.array([atmosphere.standard(0.3048 * height).pressure_pa for height in feet])
    outside = rng.uniform(225.0, 318.0, count)
    return BatchCases(
        columns=tuple(columns),
        values=np.stack(list(columns.values()), axis=1),
        engine_rpm=np.where(rng.random(count) < 0.02, 0.0, rng.uniform(400.0, 3000.0, count)),
        ambient_pa=ambient,
        temperature_k=outside,
        cabin_temperature_k=np.maximum(outside, 288.15),
    )


def _family(kind: str) -> str:
    if "filter" in kind:
        return "filter"
    return "gyro" if "indicator" in kind else kind


def _draws(rng: np.random.Generator, n: int) -> dict[str, dict[str, Draw]]:
    """What is drawn for each kind of part."""

    def spread(low: float, high: float) -> Floats:
        return np.asarray(np.exp(rng.uniform(np.log(low), np.log(high), n)))

    def sometimes(share: float, drawn: Floats | float, otherwise: float) -> Floats:
        return np.where(rng.random(n) < share, drawn, otherwise)

    return {
        "filter": {
            "loading": lambda _: spread(1.0, 1e5),
            "missing": lambda _: sometimes(0.05, 1.0, 0.0),
            "bypass_mm2": lambda _: sometimes(0.1, spread(1e-3, 100.0), 0.0),
        },
        "gyro": {
            "jet_fraction": lambda _: spread(0.02, 2.0),
            "case_leak": lambda _: sometimes(0.3, spread(1e-4, 100.0), 0.0),
            "capped": lambda _: sometimes(0.05, 1.0, 0.0),
        },
        "regulator": {
            "set_shift_inhg": lambda _: rng.uniform(-4.0, 4.0, n),
            "droop": lambda built: built * spread(0.003, 3.0),
            "held_open": lambda _: sometimes(0.2, spread(1e-3, 100.0), 0.0),
            "filter_loading": lambda _: sometimes(0.5, spread(1.0, 1e5), 1.0),
            "stuck_shut": lambda _: sometimes(0.1, 1.0, 0.0),
            "covered": lambda _: sometimes(0.05, 1.0, 0.0),
        },
        "check valve": {
            "opening": lambda built: built * spread(0.03, 3.0),
            "stuck_open": lambda _: sometimes(0.1, 1.0, 0.0),
            "stuck_shut": lambda _: sometimes(0.1, 1.0, 0.0),
        },
        "manifold": {"leak": lambda _: sometimes(0.3, spread(1e-4, 400.0), 0.0)},
        "restrictor": {},
        "standby pump": {
            "running": lambda _: sometimes(0.5, 1.0, 0.0),
            "slip": lambda _: spread(0.3, 30.0),
        },
        "intake source": {
            "selected": lambda _: sometimes(0.5, 1.0, 0.0),
            "intake_pressure": lambda _: rng.uniform(15e3, 110e3, n),
        },
        "de-ice boots": {
            "inflating": lambda _: sometimes(0.3, 1.0, 0.0),
            "leak": lambda _: sometimes(0.2, spread(1e-4, 400.0), 0.0),
        },
        "door seal": {"leak": lambda _: sometimes(0.2, spread(1e-4, 400.0), 0.0)},
        "boots valve": {"shut": lambda _: sometimes(0.4, 1.0, 0.0)},
        "relief valve": {
            "setting": lambda built: built * spread(0.1, 1.5),
            "band": lambda built: built * spread(0.003, 3.0),
            "stuck_shut": lambda _: sometimes(0.1, 1.0, 0.0),
            "held_open": lambda _: sometimes(0.2, spread(1e-3, 100.0), 0.0),
        },
        "pump": {
            "slip": lambda _: spread(0.3, 30.0),
            "stopped": lambda _: sometimes(0.15, 1.0, 0.0),
            "displacement_factor": lambda _: rng.uniform(0.3, 1.15, n),
            "outlet_blocked": lambda _: sometimes(0.2, rng.uniform(0.0, 0.999, n), 0.0),
        },
        "line": {
            "open_fraction": lambda _: sometimes(0.3, spread(1e-3, 1.0), 1.0),
            "leak": lambda _: sometimes(0.2, spread(1e-4, 400.0), 0.0),
            "off": lambda _: sometimes(0.03, 1.0, 0.0),
        },
    }
