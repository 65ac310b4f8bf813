"""Threads that take turns with the interpreter, where compiled code takes about half of their time.

Only one thread runs Python at a time anyway. Left to themselves, two threads whose numpy calls each let go of the
interpreter for some microseconds hand it to and fro thousands of times, and every time one of them has to be woken. In
turns each keeps it until it comes to compiled code that runs long enough. No answer depends on it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from threading import Lock, local
from typing import ParamSpec, TypeVar

Arguments = ParamSpec("Arguments")
Result = TypeVar("Result")
_turn = Lock()
_own = local()


def taken(work: Callable[Arguments, Result], *args: Arguments.args, **kwargs: Arguments.kwargs) -> Result:
    """``work`` done in turns with whatever else is done so."""
    if getattr(_own, "held", False):
        return work(*args, **kwargs)
    with _turn:
        _own.held = True
        try:
            return work(*args, **kwargs)
        finally:
            _own.held = False


@contextmanager
def given_up() -> Iterator[None]:
    """Let others have their turn meanwhile: nothing of theirs waits for what is done here. Nothing to a thread that
    takes no turns."""
    if not getattr(_own, "held", False):
        yield
        return
    _own.held = False
    _turn.release()
    try:
        yield
    finally:
        _turn.acquire()
        _own.held = True
