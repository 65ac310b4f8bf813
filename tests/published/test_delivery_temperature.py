"""Temperature of the air behind the pump, by the work done on it, against ``fluids`` (see oracles/).

What share of that work a dry pump's own losses add (its isentropic efficiency) is a judgement; the relation is not.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from vanewise.network.delivery import warming
from vanewise.values import air_lines


def test_warming_against_fluids(oracle: Any):
    """Isentropic compression of air (heat ratio 1.4) with an efficiency: the same formula in both."""
    cases = oracle("compression_temperature")["cases"]
    efficiency = air_lines.PUMP_EFFICIENCY.number
    ours = [case for case in cases if case["inputs"]["efficiency"] == efficiency]
    ideal = [case for case in cases if case["inputs"]["efficiency"] == 1.0]
    assert len(ours) == len(ideal) >= 6
    for case, lossless in zip(ours, ideal, strict=True):
        found = float(warming(np.array(case["inputs"]["pressure_ratio"])))
        assert found == pytest.approx(case["answer"]["temperature_ratio"], rel=1e-9)
        # The losses come on top of what compression alone does.
        assert (found - 1.0) * efficiency == pytest.approx(lossless["answer"]["temperature_ratio"] - 1.0, rel=1e-9)


def test_a_doubled_pressure_by_hand():
    """2^(2/7) is 1.21901, the isentropic temperature ratio of air at a pressure ratio of two."""
    assert float(warming(np.array(2.0))) == pytest.approx(1.0 + 0.21901 / 0.6, abs=2e-5)
