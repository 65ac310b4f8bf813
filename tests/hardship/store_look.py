"""Say, as JSON, what a home holds and what is wrong with it. Run by test_store_hardship.py in a process of its own."""

from __future__ import annotations

import json
import sys
from pathlib import Path

from vanewise.store.settings import configure, migrate


def main() -> None:
    configure(Path(sys.argv[1]), sys.argv[2] if len(sys.argv) > 2 else None)
    migrate()
    from vanewise.store import files, journal
    from vanewise.store.models import StoredFile

    checked = journal.verify()
    names = [row[0] for row in journal.aircraft_rows()]
    answer = {
        "problems": [str(problem) for problem in (*checked.problems, *files.verify())],
        "rebuilt": list(checked.rebuilt),
        "entries": {name: [item.digest for item in journal.read(name)] for name in names},
        "files": sorted(StoredFile.objects.values_list("digest", flat=True)),
        "orphans": len(list(files.orphans(older_than_s=-60))),
    }
    # Writing must go on after whatever happened.
    journal.append("after", "reading", {}, author="Ada", at="2026-03-02T10:00:00Z", expected_head=journal.ANY_HEAD)
    sys.stdout.write(json.dumps(answer))


if __name__ == "__main__":
    main()
