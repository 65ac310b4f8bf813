"""Torque through an adapter, against worked examples in published manuals.

Source of each row beside it. AC 43.13-1B, chapter 7, figure 7-2 is remembered (the same example was seen in a maker's
manual); the army manuals' examples were read. A manual prints whole numbers where noted, so the tolerance is half a
unit there.
"""

from __future__ import annotations

import pytest

from vanewise.work.torque import adapter_setting, applied_torque

EXAMPLES = [
    # wanted, lever, offset, angle, setting, tolerance, source
    (135.0, 10.0, 1.5, 0.0, 117.39, 0.01, "AC 43.13-1B, chapter 7, figure 7-2 (remembered): 117 in-lb"),
    (135.0, 10.0, 1.5, 180.0, 158.82, 0.01, "AC 43.13-1B, chapter 7, figure 7-2 (remembered), back: 159 in-lb"),
    (300.0, 10.0, 4.0, 0.0, 214.29, 0.01, "TM 1-1500-204-23-9: 214 in-lb"),
    (40.0, 12.0, 4.0, 0.0, 30.0, 1e-9, "TM 9-2350-261-20-1: 30 lb-ft"),
    (19.0, 22.0, 3.0, 0.0, 17.0, 0.5, "TM 5-3805-274-13P: prints 17 lb-ft"),
]


@pytest.mark.parametrize(("wanted", "lever", "offset", "angle", "setting", "tolerance", "source"), EXAMPLES)
def test_setting_of_the_published_examples(wanted, lever, offset, angle, setting, tolerance, source):
    assert adapter_setting(wanted, lever, offset, angle) == pytest.approx(setting, abs=tolerance), source


def test_applied_torque_of_the_published_inverse_example():
    """TM 9-254: 60 in-lb set, 12 in wrench, 2 in adapter: 70 in-lb applied."""
    assert applied_torque(60.0, 12.0, 2.0) == pytest.approx(70.0, rel=1e-12)


def test_an_adapter_to_the_side_changes_nothing():
    """AC 43.13-1B, chapter 7 (remembered): at right angles to the wrench no correction is made."""
    assert adapter_setting(100.0, 10.0, 2.0, 90.0) == pytest.approx(100.0, rel=1e-12)
