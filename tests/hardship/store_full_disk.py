"""Write to a home whose files may not grow past a limit, the way a full disk refuses. Run by test_store_hardship.py."""

from __future__ import annotations

import json
import os
import resource
import signal
import sys
from pathlib import Path

from vanewise.store.settings import configure, migrate

AT = "2026-03-01T10:00:00Z"


def main() -> None:
    home = configure(Path(sys.argv[1]))
    migrate()
    from vanewise.store import files, journal

    acknowledged, refusals = [], []
    # Without this the first refused write would end the process; a full disk only returns an error.
    signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    limit = max(path.stat().st_size for path in home.path.glob("vanewise.sqlite3*")) + 600_000
    resource.setrlimit(resource.RLIMIT_FSIZE, (limit, limit))
    for number in range(400):
        try:
            entry = journal.append(
                "a0", "reading", {"n": number, "x": "y" * 4000}, author="Ada", at=AT, expected_head=journal.ANY_HEAD
            )
            acknowledged.append(f"entry {entry.digest}")
        except journal.NotKept as error:
            refusals.append(error.problems[0].next_step)
            if len(refusals) > 3:
                break
    try:
        files.keep(os.urandom(limit + 1), media_type="image/jpeg", at=AT)
    except journal.NotKept as error:
        refusals.append(error.problems[0].next_step)
    sys.stdout.write(json.dumps({"acknowledged": acknowledged, "refusals": refusals}))


if __name__ == "__main__":
    main()
