"""Threads that take turns with the interpreter: one at a time, and nothing held where nobody took a turn."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from threading import Event

import pytest

from vanewise.diagnosis.threads import each
from vanewise.network.turns import given_up, taken

SOON_S = 10.0


def test_while_one_has_its_turn_no_other_begins() -> None:
    begun: list[str] = []
    inside, go_on = Event(), Event()

    def first() -> None:
        inside.set()
        assert go_on.wait(SOON_S)
        begun.append("first ends")

    with ThreadPoolExecutor(2) as pool:
        one = pool.submit(taken, first)
        assert inside.wait(SOON_S)
        other = pool.submit(taken, begun.append, "second")
        assert not other.done() and begun == []
        go_on.set()
        one.result(SOON_S)
        other.result(SOON_S)
    assert begun == ["first ends", "second"]


def test_who_gives_up_its_turn_lets_another_finish_meanwhile() -> None:
    with ThreadPoolExecutor(2) as pool:

        def outer() -> str:
            with given_up():
                return pool.submit(taken, str, "inner").result(SOON_S)

        assert pool.submit(taken, outer).result(SOON_S) == "inner"
        assert pool.submit(taken, str, "after").result(SOON_S) == "after"


def test_an_error_ends_the_turn() -> None:
    def fails() -> None:
        with given_up():
            raise ValueError("solver")

    with pytest.raises(ValueError, match="solver"):
        taken(fails)
    with ThreadPoolExecutor(1) as pool:
        assert pool.submit(taken, str, "next").result(SOON_S) == "next"


def test_a_turn_within_a_turn_is_the_same_one() -> None:
    assert taken(taken, str, "once") == "once"


def test_giving_up_what_nobody_took_is_nothing() -> None:
    with given_up():
        assert taken(str, "mine") == "mine"
    with ThreadPoolExecutor(1) as pool:
        assert pool.submit(taken, str, "yours").result(SOON_S) == "yours"


def test_pieces_may_be_shared_out_within_a_turn() -> None:
    """Else the one that waits for the pieces would keep the turn that they wait for."""
    assert taken(each, lambda number: taken(int, number), [3, 1, 2]) == [3, 1, 2]
