"""Errors meant for a person."""

from __future__ import annotations

import pickle

import pytest

from vanewise.errors import InputError, Locked, NoAnswer, NotCovered, Problem, VanewiseError
from vanewise.store.journal import HeadMoved

PROBLEMS = (
    Problem(where='reading "a"', expected="up to 30 inHg", found="99 inHg", next_step="check number and unit"),
    Problem(where='remark "b"', expected="a known symptom", found="leens", next_step="did you mean ai_leans?"),
)


def test_one_that_says_more_keeps_it():
    back = pickle.loads(pickle.dumps(HeadMoved(PROBLEMS[0], "abc", ())))
    assert type(back) is HeadMoved
    assert (back.problems, back.head, back.since) == (PROBLEMS[:1], "abc", ())


@pytest.mark.parametrize("kind", [InputError, NotCovered, NoAnswer, Locked])
def test_an_error_comes_whole_out_of_another_process(kind: type[VanewiseError]):
    """What a worker raises is pickled on its way back."""
    error = kind(PROBLEMS)
    back = pickle.loads(pickle.dumps(error))
    assert type(back) is kind
    assert back.problems == PROBLEMS
    assert str(back) == str(error)
