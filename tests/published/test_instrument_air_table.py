"""AC 43.13-2A, chapter 11: what air-driven instruments use, and what an elbow counts for."""

from __future__ import annotations

import pytest

from vanewise.aircraft.kinds import KINDS
from vanewise.aircraft.layouts import layouts, make
from vanewise.quantities import M3S_PER_CFM, PA_PER_INHG
from vanewise.values import ac_43_13_2a

TABLE_11_1 = [
    ("attitude indicator", 4.00, 2.30),
    ("heading indicator", 4.00, 1.30),
    ("turn indicator", 2.00, 0.50),
]


@pytest.mark.parametrize(("kind", "drop_inhg", "cfm"), TABLE_11_1)
def test_example_of_each_gyro_is_its_row_of_the_table(kind: str, drop_inhg: float, cfm: float) -> None:
    """AC 43.13-2A table 11.1, rows bank & pitch (attitude), directional gyro (heading), turn & bank indicator."""
    examples = {spec.name: spec.default for spec in KINDS[kind].fields}
    flow, drop = examples["reference_flow"], examples["reference_drop"]
    assert flow is not None
    assert drop is not None
    assert flow.number == pytest.approx(cfm * M3S_PER_CFM, rel=1e-9)
    assert drop.number == pytest.approx(drop_inhg * PA_PER_INHG, rel=1e-9)
    assert {flow.source.publication, drop.source.publication} == {"AC 43.13-2A, chapter 11"}


def test_three_gyros_use_what_the_worked_example_adds_up_to() -> None:
    """AC 43.13-2A chapter 11, worked example, second step: 0.50 + 1.30 + 2.30 = 4.10 CFM."""
    flows = [ac_43_13_2a.TURN_FLOW, ac_43_13_2a.HEADING_FLOW, ac_43_13_2a.ATTITUDE_FLOW]
    assert sum(flow.number for flow in flows) == pytest.approx(4.10 * M3S_PER_CFM, rel=1e-9)


def test_elbow_counts_as_the_table_says() -> None:
    """AC 43.13-2A table 11.2, row 1/2 in OD x 0.042 in wall: one 90 degree elbow is 0.62 ft of straight tube."""
    bore_ft = (0.5 - 2 * 0.042) / 12.0
    assert ac_43_13_2a.ELBOW_LENGTH_OVER_BORE.number * bore_ft == pytest.approx(0.62, rel=1e-9)


@pytest.mark.parametrize("name", layouts())
def test_layouts_keep_the_table_and_name_it(name: str) -> None:
    """AC 43.13-2A table 11.1 is the source of both gyros' air in every ready-made layout."""
    description = make(name)
    for gyro, cfm in (("attitude", 2.30), ("heading", 1.30)):
        value = description.part(gyro).values["reference_flow"]
        assert value.number / M3S_PER_CFM == pytest.approx(cfm, rel=1e-9)
        assert "table 11.1" in str(value.source)
