"""Clock angles and the turn past hand-tight."""

from __future__ import annotations

import pytest

from vanewise.errors import InputError
from vanewise.provenance import COMMON_PRACTICE, Source, Value
from vanewise.work.fittings import clock_deg, clock_words, turn_needed, turn_problem
from vanewise.work.types import FittingRecord


def limit(turns):
    return Value(number=turns, dimension="ratio", standing="own manual", source=Source("own manual", "5-2"))


@pytest.mark.parametrize(
    ("text", "degrees"),
    [("12 o'clock", 0.0), ("4 o'clock", 120.0), ("7", 210.0), ("7:30", 225.0), ("3:15 O'Clock", 97.5)],
)
def test_clock_positions_read_and_write(text, degrees):
    assert clock_deg(text) == degrees
    assert clock_deg(clock_words(degrees)) == degrees


@pytest.mark.parametrize("text", ["", "13 o'clock", "0", "4:75", "north", "-3"])
def test_what_is_no_clock_position_is_refused(text):
    with pytest.raises(InputError, match="12"):
        clock_deg(text)


def test_the_turns_of_the_club_aircraft():
    """Hand-tight at 5:30 it takes 7/8 turn clockwise to 4 o'clock; at 10 o'clock 3/4 turn to 7 o'clock. By hand."""
    assert turn_needed(clock_deg("5:30"), clock_deg("4 o'clock")).turns == pytest.approx(0.875)
    assert "7/8 turn" in turn_needed(clock_deg("5:30"), clock_deg("4 o'clock")).words
    assert turn_needed(clock_deg("10 o'clock"), clock_deg("7 o'clock")).turns == pytest.approx(0.75)


def test_a_fitting_that_points_right_at_hand_tight_needs_the_whole_turn():
    turn = turn_needed(120.0, 120.0)
    assert turn.turns == 1.0
    assert turn.allowed


def test_own_manual_may_allow_less_and_the_answer_is_then_another_elbow_never_back():
    turn = turn_needed(clock_deg("5:30"), clock_deg("4 o'clock"), limit(0.5))
    assert not turn.allowed
    assert "never back off" in turn.words
    assert "own manual, 5-2" in turn.words


@pytest.mark.parametrize("turns", [0.0, -1.0, 2.1])
def test_a_limit_past_two_turns_or_none_is_refused(turns):
    with pytest.raises(InputError):
        turn_needed(0.0, 90.0, limit(turns))


def test_turns_over_the_limit_or_backed_off_are_problems():
    record = FittingRecord(id="pump.inlet", port="pump.inlet", limit_turns=None)
    assert turn_problem(record, 0.875) is None
    assert turn_problem(record, 1.0) is None
    over = turn_problem(record, 1.1)
    assert over is not None
    assert str(COMMON_PRACTICE) in over.expected
    assert "crack" in over.next_step
    assert turn_problem(record, -0.1) is not None
    assert turn_problem(record, 0.0) is not None
