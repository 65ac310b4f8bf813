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
SHELL = tuple(str(PACKAGE / name) for name in ("jobs", "store", "web", "prints", "schematic", "cli", "demo"))

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
    # Waiting for a worker thread looks at a clock, but no answer does.
    if event == "c_call" and forbidden(function) and frame.f_code.co_filename != threading.__file__:
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


def texts() -> dict[str, str]:
    """The demo's files, read by the shell as a shell would: the core is handed their text."""
    demo, packs = PACKAGE / "demo", PACKAGE / "record" / "packs"
    names = ("d1_club_aircraft.toml", "d1_evidence.toml", "d1_ground_run_second.toml", "d2_wear.toml")
    found = {name: (demo / name).read_text(encoding="utf-8") for name in names}
    return {**found, "rules": (packs / "united_states.toml").read_text(encoding="utf-8")}


def stages(text: dict[str, str]) -> dict[str, Any]:
    """Every stage once, on the demo's aircraft and case, with a day and a seed that are given."""
    from vanewise import pipeline
    from vanewise.contamination import SheddingEvent
    from vanewise.diagnosis.infer import Options, diagnose
    from vanewise.errors import Locked
    from vanewise.groundrun.reading import read_ground_run
    from vanewise.network import OperatingPoint, pack, solve
    from vanewise.record.canon import canonical
    from vanewise.record.chain import chain
    from vanewise.record.entry import Hours, draft
    from vanewise.record.jurisdiction import read_pack
    from vanewise.watch.due import Now, due_items
    from vanewise.watch.reading import read_wear
    from vanewise.work.log import start

    day = datetime.date(2025, 3, 15)
    description = pipeline.describe(text["d1_club_aircraft.toml"], "d1_club_aircraft.toml")
    running = solve(pack(description), OperatingPoint(engine_rpm=1200.0))
    evidence = pipeline.observe(text["d1_evidence.toml"], "d1_evidence.toml")
    # A small bank: what is looked for here is what the code touches, not how sure the answer is.
    causes = diagnose(description, evidence, seed=1, engine="kernel", today=day, options=Options(rows=128))
    scope = pipeline.trace(description, running, [SheddingEvent(part="pump", kind="stop")], [])
    package = pipeline.plan(description, causes.causes[0].id, scope, today=day)
    run = read_ground_run(text["d1_ground_run_second.toml"], "d1_ground_run_second.toml")
    foreseen = pipeline.foresee(description, run, seed=1, engine="kernel")
    verdict = pipeline.prove(foreseen, run.readings)
    rules = read_pack(text["rules"], "united_states.toml")
    log = start(package)
    try:
        record: Any = draft(
            package, log, verdict, rules, drafted_on=day, completed_on=None, hours=Hours(), head_digest="0" * 64
        )
    except Locked as held:
        record = held.problems
    wear = read_wear(text["d2_wear.toml"], "d2_wear.toml")
    return {
        "describe": description,
        "solve": pipeline.solve(description, (700.0, 1200.0, 2400.0), 0.0, None, {}, "kernel"),
        "solve on numpy": running,
        "observe": evidence,
        "infer": causes,
        "trace": scope,
        "plan": package,
        "do": log,
        "foresee": foreseen,
        "prove": verdict,
        "write": record,
        "chain": chain([canonical({"day": "2025-03-15"})]),
        "watch wear": pipeline.watch_wear(wear.history, wear.horizons),
        "watch due": due_items(rules.limits, [], Now(today=day, tach_centihours=298_390)),
    }


EXPECTED = (
    *("describe", "solve", "solve on numpy", "observe", "infer", "trace", "plan", "do", "foresee", "prove", "write"),
    *("chain", "watch wear", "watch due"),
)

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
        given = texts()
        answers = stages(given) if "--without-hooks" in sys.argv else watch(lambda: stages(given))
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
