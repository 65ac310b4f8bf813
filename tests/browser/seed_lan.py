"""Fill a home with one aircraft and one job to be done, and set its passphrase. Run in a process of its own.

``seed_lan.py HOME PASSPHRASE`` prints, as JSON, the ids that the addresses need. Everything is invented.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path

from vanewise.store.passphrase import set_passphrase
from vanewise.store.settings import configure, migrate

AUTHOR = "Ada"


def main() -> None:
    home = configure(Path(sys.argv[1]))
    migrate()
    set_passphrase(home, sys.argv[2])
    from vanewise.aircraft import layouts
    from vanewise.aircraft.writing import write_description
    from vanewise.jobs import aircraft, evidence, tracing, work

    craft = aircraft.keep(write_description(layouts.make("suction-one-pump")), author=AUTHOR)
    report = evidence.open_report(craft, "Gauge at zero, pump does not turn.", author=AUTHOR, when="2025-01-19")
    # Shedding while it ran: on the suction side nothing past the pump's own outlet is reached.
    tracing.add_event(craft, report, {"part": "pump", "kind": "running", "altitude": "2000 ft"}, author=AUTHOR)
    package = work.make_package(craft, report, "worn_vanes", place="pump", author=AUTHOR)
    sys.stdout.write(json.dumps({"craft": craft, "report": report, "job": package.id[:12]}))


if __name__ == "__main__":
    main()
