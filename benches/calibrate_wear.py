"""Calibration of the wear forecast: how often the truth lies inside its intervals, when its model is right and wrong.

Run ``python benches/calibrate_wear.py [PUMPS]`` (4,000 a cell takes about an hour on one free core). It writes
``benches/wear_calibration.json`` after every cell and goes on where it stopped. A cell holds the truth, the readings,
the cover of the 80 % and 95 % intervals of hours left, the share that passed the limit before the 10 % point, and the
median widths. All pumps are simulated; this proves the arithmetic, and how much a wrong model costs, not that real
pumps wear this way.
"""

from __future__ import annotations

import dataclasses
import json
import math
import pathlib
import sys

from vanewise.watch.simulate import Truth, coverage, mixture_truth, wrong_truths
from vanewise.watch.wear_posterior import SHARED_RESOLUTION

PATTERNS = (
    ("no reading", ("none",)),
    ("1 length", ("length",)),
    ("2 lengths", ("length",) * 2),
    ("4 lengths", ("length",) * 4),
    ("1 look", ("look",)),
    ("2 looks", ("look",) * 2),
    ("4 looks", ("look",) * 4),
)


def cells() -> list[tuple[Truth, str, tuple[str, ...]]]:
    """Truth, name of the readings, and their kinds."""
    right = (mixture_truth(), Truth(name="one fixed member"))
    out = [(truth, name, kinds) for truth in right for name, kinds in PATTERNS]
    four = next(pattern for pattern in PATTERNS if pattern[0] == "4 lengths")
    out.extend((truth, *four) for truth in wrong_truths())
    two = next(pattern for pattern in PATTERNS if pattern[0] == "2 lengths")
    out.append((wrong_truths()[-1], *two))
    return out


def main() -> None:
    pumps = int(sys.argv[1]) if len(sys.argv) > 1 else 4000
    target = pathlib.Path(__file__).with_name("wear_calibration.json")
    kept = json.loads(target.read_text(encoding="utf-8")) if target.exists() else {"pumps_a_cell": pumps, "cells": []}
    rows = kept["cells"] if kept["pumps_a_cell"] == pumps else []
    done = {(row["truth"], row["readings"]) for row in rows}
    for number, (truth, name, kinds) in enumerate(cells()):
        if (truth.name, name) in done:
            continue
        found = coverage(truth, kinds, pumps, seed=1000 * (number + 1), resolution=SHARED_RESOLUTION)
        row = {"truth": truth.name, "readings": name, **dataclasses.asdict(found)}
        row["standard_error_80"] = math.sqrt(found.cover_80 * (1 - found.cover_80) / found.pumps)
        rows.append({key: round(value, 4) if isinstance(value, float) else value for key, value in row.items()})
        print(rows[-1], flush=True)
        target.write_text(json.dumps({"pumps_a_cell": pumps, "cells": rows}, indent=1) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
