"""Lines of the torque sheet: no default torque, the own sheet's value with its source, the wrench's correction."""

from __future__ import annotations

import pytest

from vanewise.errors import InputError
from vanewise.provenance import Source, Value
from vanewise.quantities import NM_PER_IN_LB
from vanewise.work.torque import Wrench, adapter_setting, applied_torque, handbook_range, torque_line

OWN = Value(
    number=90 * NM_PER_IN_LB, dimension="torque", standing="own manual", source=Source("pump maker's sheet", "page 2")
)


def test_without_an_own_value_the_line_is_a_blank_to_fill_in():
    line = torque_line("pad nuts", "four pad nuts")
    assert "own sheet" in line.wanted
    assert "____" in line.wanted
    assert not any(digit.isdigit() for digit in line.wanted)
    assert line.setting == ""


def test_own_value_names_its_source_and_the_wrench_is_corrected():
    wrench = Wrench(lever_m=0.254, offset_m=0.0508, identity="W7", calibrated_on="2025-01-10")
    line = torque_line("pad nuts", "four pad nuts", OWN, wrench, drag_nm=6 * NM_PER_IN_LB)
    assert "pump maker's sheet, page 2" in line.wanted
    assert "6 in-lb running torque" in line.wanted
    # 96 in-lb at the nut, 10 in lever, 2 in adapter: 96 x 10 / 12 = 80 in-lb on the wrench.
    assert line.setting == "80 in-lb"
    assert "calibrated 2025-01-10" in line.adapter


def test_setting_and_applied_are_inverse_at_any_angle():
    for angle in (0.0, 37.0, 90.0, 121.0, 180.0):
        assert applied_torque(adapter_setting(70.0, 10.0, 2.5, angle), 10.0, 2.5, angle) == pytest.approx(70.0)


@pytest.mark.parametrize(("lever", "offset", "angle"), [(0.0, 1.0, 0.0), (10.0, -1.0, 0.0), (10.0, 10.0, 180.0)])
def test_impossible_wrenches_are_refused(lever, offset, angle):
    with pytest.raises(InputError):
        adapter_setting(70.0, lever, offset, angle)


def test_unknown_thread_and_wrong_dimension_are_refused():
    with pytest.raises(InputError, match="1/4-28"):
        handbook_range("7-31")
    with pytest.raises(InputError, match="torque such as"):
        torque_line("pad nuts", "nuts", Value(number=1.0, dimension="length", standing="own manual", source=OWN.source))
