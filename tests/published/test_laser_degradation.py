"""A real set of degradation paths: 15 lasers, each forecast with the others as its fleet.

W. Q. Meeker and L. A. Escobar, "Statistical Methods for Reliability Data" (Wiley 1998), table C.17: per cent increase
of operating current every 250 h (two copies read, which agree; the table's number is from memory). A rise of 6 % stands
for the wear limit, because every unit passes it within the 4,000 h of the record. These are no pumps: the set shows how
the forecast does where the truth was not made by its own model.
"""

from __future__ import annotations

import math

import msgspec
import numpy as np
import pytest

from vanewise.watch.types import WearReading
from vanewise.watch.wear import limit_chances
from vanewise.watch.wear_history import PumpHistory
from vanewise.watch.wear_priors import DEFAULT_PRIORS, WearPriors
from vanewise.watch.wear_rates import Conditions

LIMIT = 6.0
HOURS = np.arange(0.0, 4001.0, 250.0)
PATHS = np.array(
    [
        [0, 0.47, 0.93, 2.11, 2.72, 3.51, 4.34, 4.91, 5.48, 5.99, 6.72, 7.13, 8.00, 8.92, 9.49, 9.87, 10.94],
        [0, 0.71, 1.22, 1.90, 2.30, 2.87, 3.75, 4.42, 4.99, 5.51, 6.07, 6.64, 7.16, 7.78, 8.42, 8.91, 9.28],
        [0, 0.71, 1.17, 1.73, 1.99, 2.53, 2.97, 3.30, 3.94, 4.16, 4.45, 4.89, 5.27, 5.69, 6.02, 6.45, 6.88],
        [0, 0.36, 0.62, 1.36, 1.95, 2.30, 2.95, 3.39, 3.79, 4.11, 4.50, 4.72, 4.98, 5.28, 5.61, 5.95, 6.14],
        [0, 0.27, 0.61, 1.11, 1.77, 2.06, 2.58, 2.99, 3.38, 4.05, 4.63, 5.24, 5.62, 6.04, 6.32, 7.10, 7.59],
        [0, 0.36, 1.39, 1.95, 2.86, 3.46, 3.81, 4.53, 5.35, 5.92, 6.71, 7.70, 8.61, 9.15, 9.95, 10.49, 11.01],
        [0, 0.36, 0.92, 1.21, 1.46, 1.93, 2.39, 2.68, 2.94, 3.42, 4.09, 4.58, 4.84, 5.11, 5.57, 6.11, 7.17],
        [0, 0.46, 1.07, 1.42, 1.77, 2.11, 2.40, 2.78, 3.02, 3.29, 3.75, 4.16, 4.76, 5.16, 5.46, 5.81, 6.24],
        [0, 0.51, 0.93, 1.57, 1.96, 2.59, 3.29, 3.61, 4.11, 4.60, 4.91, 5.34, 5.84, 6.40, 6.84, 7.20, 7.88],
        [0, 0.41, 1.49, 2.38, 3.00, 3.84, 4.50, 5.25, 6.26, 7.05, 7.80, 8.32, 8.93, 9.55, 10.45, 11.28, 12.21],
        [0, 0.44, 1.00, 1.57, 1.96, 2.51, 2.84, 3.47, 4.01, 4.51, 4.80, 5.20, 5.66, 6.20, 6.54, 6.96, 7.42],
        [0, 0.39, 0.80, 1.35, 1.74, 2.98, 3.59, 4.03, 4.44, 4.79, 5.22, 5.48, 5.96, 6.23, 6.99, 7.37, 7.88],
        [0, 0.30, 0.74, 1.52, 1.85, 2.39, 2.95, 3.51, 3.92, 5.03, 5.47, 5.84, 6.50, 6.94, 7.39, 7.85, 8.09],
        [0, 0.44, 0.70, 1.05, 1.35, 1.80, 2.55, 2.83, 3.39, 3.72, 4.09, 4.83, 5.41, 5.76, 6.14, 6.51, 6.88],
        [0, 0.51, 0.83, 1.29, 1.52, 1.91, 2.27, 2.78, 3.42, 3.78, 4.11, 4.38, 4.63, 5.38, 5.84, 6.16, 6.62],
    ]
)


def life(path: np.ndarray) -> float:
    return float(np.interp(LIMIT, path, HOURS))


def priors_without(unit: int) -> WearPriors:
    """The other fourteen as the fleet: middle and spread of their lives; readings taken as nearly exact."""
    logs = np.array([math.log(life(path)) for i, path in enumerate(PATHS) if i != unit])
    spread = float(logs.std(ddof=1))
    middle = DEFAULT_PRIORS.median_life
    return msgspec.structs.replace(
        DEFAULT_PRIORS,
        median_life=msgspec.structs.replace(middle, number=math.exp(float(logs.mean())), spread=spread / math.sqrt(14)),
        unit_spread=msgspec.structs.replace(DEFAULT_PRIORS.unit_spread, number=spread),
        new_length_sd=msgspec.structs.replace(DEFAULT_PRIORS.new_length_sd, number=0.0),
        reading_slip=msgspec.structs.replace(DEFAULT_PRIORS.reading_slip, number=0.0),
    )


def places(readings: int) -> np.ndarray:
    """Where each unit's life falls in its forecast, made from its first ``readings`` (none: from new)."""
    out = []
    for unit, path in enumerate(PATHS):
        taken = tuple(
            WearReading(hours=float(HOURS[k]), kind="length", wear_fraction=float(path[k] / LIMIT), sd=0.01)
            for k in range(1, readings + 1)
        )
        now = float(HOURS[readings])
        history = PumpHistory(hours_now=now, conditions=Conditions(duty="suction"), readings=taken)
        hours, chance = limit_chances(history, priors=priors_without(unit))
        out.append(float(np.interp(life(path) - now, hours, chance)))
    return np.array(out)


@pytest.mark.parametrize("readings", [0, 2, 4, 6])
def test_most_lives_lie_inside_their_intervals(readings: int) -> None:
    """Nominal 12 of 15 inside 80 % and 14 of 15 inside 95 %; fewer than 9 or 12 would be a poor forecast indeed."""
    where = places(readings)
    inside_80, inside_95 = int(((where > 0.1) & (where < 0.9)).sum()), int(((where > 0.025) & (where < 0.975)).sum())
    assert inside_80 >= 9, (readings, inside_80, np.round(where, 3))
    assert inside_95 >= 12, (readings, inside_95, np.round(where, 3))


def test_readings_bring_the_middle_nearer_to_the_truth() -> None:
    def errors(readings: int) -> float:
        out = []
        for unit, path in enumerate(PATHS):
            taken = tuple(
                WearReading(hours=float(HOURS[k]), kind="length", wear_fraction=float(path[k] / LIMIT), sd=0.01)
                for k in range(1, readings + 1)
            )
            now = float(HOURS[readings])
            history = PumpHistory(hours_now=now, conditions=Conditions(duty="suction"), readings=taken)
            hours, chance = limit_chances(history, priors=priors_without(unit))
            out.append(abs(float(np.interp(0.5, chance, hours)) - (life(path) - now)))
        return float(np.median(out))

    assert errors(6) < 0.6 * errors(0)
