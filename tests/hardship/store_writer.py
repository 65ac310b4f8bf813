"""A program that writes to a home until it is killed. Run by test_store_hardship.py, never by itself.

``store_writer.py HOME COUNT SEED LEAST MOST [URL]`` sets Django up once and then forks COUNT writers, one after
another; each acknowledges every entry and file on its own pipe the moment ``append`` or ``keep`` returned, and is
killed with SIGKILL a few milliseconds after a number of acknowledgements drawn from SEED, between LEAST and MOST.
At the end it prints, as JSON, what was acknowledged.
"""

from __future__ import annotations

import json
import os
import random
import signal
import sys
import time
from pathlib import Path

from vanewise.store.settings import configure, migrate

AT = "2026-03-01T10:00:00Z"


def write_until_killed(pipe: int, round_number: int) -> None:
    from vanewise.store import files, journal

    number = 0
    while True:
        number += 1
        words = f"round {round_number}, entry {number} " + "x" * (number % 7 * 600)
        entry = journal.append(
            f"a{number % 2}", "reading", {"words": words}, author="Ada", at=AT, expected_head=journal.ANY_HEAD
        )
        os.write(pipe, f"entry {entry.digest}\n".encode())
        if number % 3 == 0:
            kept = files.keep(os.urandom(20_000), media_type="image/jpeg", at=AT)
            os.write(pipe, f"file {kept.digest}\n".encode())


def one_round(round_number: int, chance: random.Random, least: int, most: int) -> list[str]:
    from django.db import connections

    # A connection must not be shared across a fork.
    connections.close_all()
    reader, writer = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(reader)
        write_until_killed(writer, round_number)
        os._exit(1)
    os.close(writer)
    with os.fdopen(reader) as lines:
        seen = [lines.readline() for _ in range(chance.randint(least, most))]
        # An entry takes a few milliseconds, so the kill falls anywhere within the writing of the next one or two.
        time.sleep(chance.uniform(0.0, 0.012))
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        seen += lines.readlines()
    return [line.strip() for line in seen if line.endswith("\n")]


def main() -> None:
    configure(Path(sys.argv[1]), sys.argv[6] if len(sys.argv) > 6 else None)
    migrate()
    chance = random.Random(int(sys.argv[3]))
    acknowledged: list[str] = []
    for round_number in range(int(sys.argv[2])):
        acknowledged += one_round(round_number, chance, int(sys.argv[4]), int(sys.argv[5]))
    sys.stdout.write(json.dumps(acknowledged))


if __name__ == "__main__":
    main()
