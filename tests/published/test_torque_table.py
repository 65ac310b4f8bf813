"""AC 43.13-1B, chapter 7, table 7-1: recommended torque for nuts, oil-free cadmium-plated threads, in-lb."""

from __future__ import annotations

import pytest

from vanewise.quantities import NM_PER_IN_LB
from vanewise.values.ac_43_13_1b import ROWS
from vanewise.work.torque import handbook_range, torque_problem

FINE = """
8-36    12   15    7    9    20   12
10-32   20   25    12   15   40   25
1/4-28  50   70    30   40   100  60
5/16-24 100  140   60   85   225  140
3/8-24  160  190   95   110  390  240
7/16-20 450  500   270  300  840  500
1/2-20  480  690   290  410  1100 660
9/16-18 800  1000  480  600  1600 960
5/8-18  1100 1300  600  780  2400 1400
"""
COARSE = """
10-24   20   25    12   15   35   21
1/4-20  40   50    25   30   75   45
5/16-18 80   90    48   55   160  100
3/8-16  160  185   95   100  275  170
"""
LINES = [line.split() for line in (FINE + COARSE).strip().splitlines() if line]


@pytest.mark.parametrize("line", LINES, ids=[line[0] for line in LINES])
def test_every_row_that_was_read(line):
    """Rows of table 7-1: tension low and high, shear low and high, highest tension, highest shear."""
    thread, *numbers = line
    tension_low, tension_high, shear_low, shear_high, highest_tension, highest_shear = map(float, numbers)
    tension, shear = ROWS[thread, "tension"], ROWS[thread, "shear"]
    assert (tension.low, tension.high, tension.highest) == (tension_low, tension_high, highest_tension)
    assert (shear.low, shear.high, shear.highest) == (shear_low, shear_high, highest_shear)


def test_the_quarter_inch_row_in_newton_metres():
    """Table 7-1, row 1/4-28: 50 in-lb is 5.649 N m and 70 in-lb is 7.909 N m by the factor of NIST SP 811 B.8."""
    allowed = handbook_range("1/4-28")
    assert allowed.low_nm == pytest.approx(5.649, abs=0.0005)
    assert allowed.high_nm == pytest.approx(7.909, abs=0.0005)


def test_drag_is_added_to_the_recommended_torque():
    """AC 43.13-1B, chapter 7, paragraph 7-40: running torque is added. 1/4-28 with 8 in-lb: 58 to 78 on the wrench."""
    allowed = handbook_range("1/4-28", drag_nm=8 * NM_PER_IN_LB)
    assert allowed.low_nm / NM_PER_IN_LB == pytest.approx(58.0)
    assert allowed.high_nm / NM_PER_IN_LB == pytest.approx(78.0)


def test_more_than_the_highest_plus_drag_is_refused():
    """Same paragraph: never beyond the highest value of the table plus drag. 1/4-28, 8 in-lb drag: 108 in-lb."""
    allowed = handbook_range("1/4-28", drag_nm=8 * NM_PER_IN_LB)
    assert torque_problem(70 * NM_PER_IN_LB, allowed) is None
    outside = torque_problem(100 * NM_PER_IN_LB, allowed)
    assert outside is not None
    assert "overtightened" not in outside.next_step
    above = torque_problem(109 * NM_PER_IN_LB, allowed)
    assert above is not None
    assert "overtightened" in above.next_step
