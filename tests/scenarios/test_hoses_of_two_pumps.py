"""Of two pumps either hose can close, and the one both share: what is shut there is told from a weak pump."""

from __future__ import annotations

import numpy as np
import pytest

from vanewise.aircraft import layouts
from vanewise.diagnosis.infer import Options, infer
from vanewise.diagnosis.reading import read_evidence
from vanewise.diagnosis.solving import point_at, solve_rows, tapped, taps
from vanewise.network.pack import pack
from vanewise.quantities import PA_PER_INHG

LAYOUT = "suction-twin-pumps"
RPM = (700.0, 1000.0, 1200.0, 1500.0, 1800.0, 2100.0, 2400.0)


def swept(states: dict[str, float]) -> list[float]:
    """What the panel gauge shows over a sweep, to a tenth, by the numpy solver."""
    packed = pack(layouts.make(LAYOUT))
    columns = {key: np.array([value]) for key, value in states.items()} or {"left_pump.slip": np.ones(1)}
    points = [point_at(rpm, packed.description.field.elevation.number, None) for rpm in RPM]
    shown = tapped(solve_rows(packed, columns, points, "numpy"), taps(packed, None, None))[0] / PA_PER_INHG
    return [round(float(value), 1) for value in shown]


@pytest.mark.parametrize(
    ("states", "place"),
    [
        ({"pump_manifold_hose.open_fraction": 0.06}, "pump_manifold_hose"),
        ({"left_pump.stopped": 1.0, "right_pump_hose.open_fraction": 0.06}, "right_pump_hose"),
    ],
)
def test_the_hose_that_is_shut_is_found_where_it_is(states: dict[str, float], place: str):
    before, now = swept({}), swept(states)
    assert max(now) < max(before) - 0.5, "it shows"
    under = "under = { left_pump.stopped = 1 }\n" if "left_pump.stopped" in states else ""
    text = f'[[sweeps]]\nid = "before"\nsound = true\nrpm = {list(RPM)}\nreading = {before}\n'
    text += f'[[sweeps]]\nid = "now"\nrpm = {list(RPM)}\nreading = {now}\n{under}'
    found = infer(layouts.make(LAYOUT), read_evidence(text, "case"), seed=2, options=Options(rows=256)).posterior
    by_id = {h.id: float(p) for h, p in zip(found.hypotheses, found.probability, strict=True)}
    here = by_id[f"hose_collapsed@{place}"]
    elsewhere = [p for name, p in by_id.items() if name.startswith("hose_collapsed@") and not name.endswith(place)]
    assert here > 10.0 * max(elsewhere), by_id
