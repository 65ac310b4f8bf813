"""A study spread over a Dask cluster: workers are handed chunks, and what comes back is put in its order again.

Everything a worker needs is in the text it is handed, so a chunk that a worker lost can be given to any other. Needs
the ``cluster`` extra (``distributed``); nothing else imports it.
"""

from __future__ import annotations

import logging
import re
from collections.abc import Iterator, Sequence
from functools import lru_cache
from typing import TYPE_CHECKING, Any, Final

from vanewise.errors import NoAnswer, Problem, wrong

if TYPE_CHECKING:
    from vanewise.network.types import Engine
    from vanewise.study import Part, Prepared, Study

SECONDS_TO_ANSWER: Final = 8.0
_ADDRESS: Final = re.compile(r"((tcp|tls|ws|wss)://)?([A-Za-z0-9._-]+|\[[0-9A-Fa-f:.]+\]):\d{1,5}")
AHEAD_PER_THREAD: Final = 4
"""Chunks handed out before the first of them is back: keeps workers busy and bounds what waits here."""
LOST_BEFORE_GIVING_UP: Final = 5
"""A chunk may be lost with so many workers before the study is given up."""


@lru_cache(maxsize=2)
def _ready(text: bytes) -> Prepared:
    from vanewise.study import prepare
    from vanewise.study.types import from_canonical

    return prepare(from_canonical(text))


def on_worker(text: bytes, number: int, engine: Engine, mark: str) -> Part | str:
    """What a worker does: one chunk of the study; or, where its program is another, its own mark."""
    from vanewise.jobs.study_parts import program_mark
    from vanewise.study import work_out

    here = program_mark(engine)
    if here != mark:
        return here
    return work_out(_ready(text), number, engine=engine, threads=1)


def parts_from(address: str, study: Study, wanted: Sequence[int], engine: Engine) -> Iterator[Part]:
    """The chunks ``wanted`` as they come back, in any order. Raises InputError or NoAnswer in four parts."""
    try:
        import distributed
    except ImportError:
        raise wrong(
            f"--scheduler {address}",
            "the library distributed, which spreads work over a Dask cluster",
            "not installed",
            "install it with: pip install 'vanewise[cluster]', or leave --scheduler out to work it out here",
        ) from None
    _silence()
    client = _client(distributed, address)
    try:
        threads = _workers(client, address)
        yield from _handed_out(distributed, client, address, study, wanted, engine, AHEAD_PER_THREAD * threads)
    finally:
        client.close(timeout=2)


def _silence() -> None:
    """What the libraries would write between the lines: it is told in four parts, once."""
    for name in ("distributed", *logging.root.manager.loggerDict):
        if name.split(".")[0] != "vanewise":
            logging.getLogger(name).setLevel(logging.CRITICAL + 1)


def _client(distributed: Any, address: str) -> Any:
    if _ADDRESS.fullmatch(address) is None:
        raise wrong(
            f"--scheduler {address}",
            "the address of a Dask scheduler, written like tcp://10.0.0.5:8786",
            "another form",
            "copy it from what 'dask scheduler' prints, or leave --scheduler out",
        )
    try:
        return distributed.Client(address, timeout=SECONDS_TO_ANSWER, set_as_default=False, name="vanewise study")
    except Exception as error:  # noqa: BLE001 - what answers there may be anything: another service, a gate of the network
        raise wrong(
            f"--scheduler {address}",
            "a Dask scheduler that answers there, written like tcp://10.0.0.5:8786",
            f"none: {_first_line(error)}",
            "start one with 'dask scheduler' and workers with 'dask worker ADDRESS', or leave --scheduler out",
        ) from None


def _workers(client: Any, address: str) -> int:
    """Threads of all workers. Raises InputError where there is none."""
    try:
        client.wait_for_workers(1, timeout=SECONDS_TO_ANSWER)
    except TimeoutError:
        raise wrong(
            f"--scheduler {address}",
            "one worker at least that belongs to it",
            f"none within {SECONDS_TO_ANSWER:.0f} seconds",
            f"start one on each machine with: dask worker {address}",
        ) from None
    return max(int(sum(client.nthreads().values())), 1)


def _handed_out(
    distributed: Any,
    client: Any,
    address: str,
    study: Study,
    wanted: Sequence[int],
    engine: Engine,
    ahead: int,
) -> Iterator[Part]:
    from vanewise.jobs.study_parts import program_mark
    from vanewise.study.types import canonical

    text, mark = canonical(study), program_mark(engine)
    waiting = iter(wanted)

    def hand_out() -> Any:
        number = next(waiting, None)
        if number is None:
            return None
        return client.submit(on_worker, text, number, engine, mark, pure=False, retries=LOST_BEFORE_GIVING_UP)

    first = [future for future in (hand_out() for _ in range(min(ahead, len(wanted)))) if future is not None]
    returning = distributed.as_completed(first, loop=client.loop)
    for future in returning:
        part = _result(distributed, future, address, mark)
        following = hand_out()
        if following is not None:
            returning.add(following)
        future.release()
        yield part


def _result(distributed: Any, future: Any, address: str, mark: str) -> Part:
    try:
        part = future.result()
    except ModuleNotFoundError as error:
        raise _stopped(
            address,
            "workers that have vanewise installed",
            f"one without: {error}",
            "install this version of vanewise where the workers run, start them again, and run the same command",
        ) from None
    except (distributed.KilledWorker, distributed.core.RPCClosed, OSError, TimeoutError) as error:
        raise _stopped(
            address, "every chunk to come back", _first_line(error), "look at the workers, and run the same command"
        ) from None
    except Exception as error:  # noqa: BLE001 - whatever a worker met is told in words, and the parts are kept
        raise _stopped(
            address, "every chunk to come back", _first_line(error), "look at the cluster, and run the same command"
        ) from None
    if isinstance(part, str):
        raise _stopped(
            address,
            f"workers with this very program and libraries ({mark[:12]})",
            f"one with another ({part[:12]})",
            "install the same versions there, and run the same command again",
        )
    return part  # type: ignore[no-any-return]


def _stopped(address: str, expected: str, found: str, next_step: str) -> NoAnswer:
    return NoAnswer(
        Problem(
            where=f"--scheduler {address}",
            expected=expected,
            found=found,
            next_step=f"{next_step}: chunks that are done are kept, it goes on from there",
        )
    )


def _first_line(error: BaseException) -> str:
    lines = str(error).strip().splitlines()
    return lines[0] if lines else type(error).__name__
