"""A program, not a test: runs the core under two hooks and prints what it saw as one line of JSON.

An audit hook sees every file, socket and process that is opened; a profile hook sees every builtin that is called. What
an import opens is no fault (Python reads its modules somewhere), nor is what numba does with its own cache.
"""

from __future__ import annotations

import datetime
import hashlib
import json
import os
import random
import sys
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from types import FrameType
from typing import Any

PACKAGE = Path(__file__).resolve().parents[2] / "src" / "vanewise"
CACHE_SETUP = str(PACKAGE / "network" / "numba_cache.py")
SHELL = tuple(str(PACKAGE / name) for name in ("jobs", "store", "web", "prints", "cli.py", "demo"))

opened: list[str] = []
called: list[str] = []

CLOCKS = {name for name in dir(time) if callable(getattr(time, name)) and not isinstance(getattr(time, name), type)}


def core_file(frame: FrameType) -> bool:
    name = frame.f_code.co_filename
    return name.startswith(str(PACKAGE)) and not name.startswith(SHELL)


def outwards(frame: FrameType | None) -> Iterator[FrameType]:
    while frame is not None:
        yield frame
        frame = frame.f_back


def culprit(frame: FrameType | None) -> str | None:
    """The core's line that is answerable for what happens in ``frame``, or None when nobody of the core is."""
    for one in outwards(frame):
        name = one.f_code.co_filename
        if name.startswith("<frozen importlib") or f"{os.sep}numba{os.sep}" in name or name == CACHE_SETUP:
            return None
        if core_file(one):
            return f"{Path(name).relative_to(PACKAGE)}:{one.f_lineno}"
    return None


def on_audit(event: str, arguments: tuple[Any, ...]) -> None:
    watched = event == "open" or event.startswith(
        ("socket.", "subprocess.", "os.system", "os.exec", "sqlite3.", "urllib.")
    )
    if watched:
        place = culprit(sys._getframe(1))
        if place is not None:
            opened.append(f"{place}: {event} {arguments[0] if arguments else ''}")


def forbidden(function: Any) -> bool:
    """Whether a builtin reads a clock or gives random numbers that nobody seeded."""
    name, module, owner = function.__name__, function.__module__, getattr(function, "__self__", None)
    if module == "time" and name in CLOCKS:
        return True
    if isinstance(owner, type) and issubclass(owner, datetime.date):
        return name in {"now", "today", "utcnow"}
    return name in {"urandom", "getrandom"} or isinstance(owner, random.Random)


def on_call(frame: FrameType, event: str, function: Any) -> None:
    if event == "c_call" and forbidden(function):
        place = culprit(frame)
        if place is not None:
            called.append(f"{place}: {function.__name__}")


def watch(run: Callable[[], Any]) -> Any:
    sys.addaudithook(on_audit)
    threading.setprofile(on_call)
    sys.setprofile(on_call)
    try:
        return run()
    finally:
        sys.setprofile(None)
        threading.setprofile(None)  # type: ignore[arg-type]


def plain(answer: Any) -> bytes:
    """An answer as text that is the same whenever the answer is."""
    import msgspec
    import numpy as np

    def other(value: Any) -> Any:
        if isinstance(value, np.ndarray):
            return value.tolist()
        if isinstance(value, np.generic):
            return value.item()
        if hasattr(value, "__dataclass_fields__"):
            return {name: getattr(value, name) for name in value.__dataclass_fields__}
        return repr(value)

    return msgspec.json.encode(answer, enc_hook=other)


def stages() -> dict[str, Any]:
    """Every stage once, on the ready-made layout, with a day and a seed that are given."""
    from vanewise.aircraft.layouts import make
    from vanewise.contamination import SheddingEvent, trace
    from vanewise.network import OperatingPoint, pack, solve, sweep

    description = make("suction-one-pump")
    packed = pack(description)
    solution = solve(packed, OperatingPoint(engine_rpm=1200.0))
    event = SheddingEvent(part="pump", kind="stop")
    return {
        "describe": description,
        "solve": solution,
        "sweep": sweep(description, (700.0, 1200.0, 2400.0)),
        "trace": trace(description, solution, event),
    }


EXPECTED = ("describe", "solve", "sweep", "trace")

BAD = """
import datetime, os, random, socket, time
try:
    open("notes.txt")
except OSError:
    pass
socket.socket().close()
time.time(), datetime.date.today(), random.random(), os.urandom(4)
"""


def main() -> int:
    if "--prove-the-hooks" in sys.argv:
        code = compile(BAD, str(PACKAGE / "values" / "made_up_for_this_proof.py"), "exec")
        watch(lambda: exec(code, {}))
        answers: dict[str, Any] = {}
    else:
        answers = watch(stages)
    seen = {
        "opened": opened,
        "called": called,
        "modules": sorted(name for name in sys.modules if name.startswith("vanewise.") or name == "django"),
        "stages": sorted(answers),
        "expected": sorted(EXPECTED),
        "answers": {name: hashlib.sha256(plain(answer)).hexdigest() for name, answer in answers.items()},
    }
    sys.stdout.write(json.dumps(seen) + "\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
