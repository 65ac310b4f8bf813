"""Run the benches: ``python -m benches.run [WORD]``. Without a word all are run and ``results.json`` is written."""

from __future__ import annotations

import dataclasses
import importlib
import importlib.metadata
import importlib.util
import json
import os
import platform
import sys
from pathlib import Path

from benches.harness import BENCHES, Measured, NotRunHere, measure
from benches.study_figures import headline

HERE = Path(__file__).parent
RESULTS = HERE / "results.json"
STUDY = HERE / "diagnosis_study.json"


def machine() -> dict[str, object]:
    """What the figures were measured on; nothing that names the machine or its owner."""
    versions = {}
    for package in ("numpy", "scipy", "numba"):
        if importlib.util.find_spec(package) is not None:
            versions[package] = importlib.metadata.version(package)
    return {
        "processor": processor(),
        "cores": os.cpu_count(),
        "system": f"{platform.system()} {platform.machine()}",
        "python": platform.python_version(),
        **versions,
    }


def processor() -> str:
    try:
        for line in Path("/proc/cpuinfo").read_text(encoding="utf-8").splitlines():
            if line.startswith("model name"):
                return line.partition(":")[2].strip()
    except OSError:
        pass
    return platform.processor() or "unknown"


def line(one: Measured) -> str:
    if one.noisy:
        return (
            f"{one.name}: noisy, no figure (reference {one.reference_before:g} before, {one.reference_after:g} after, "
            f"{one.unit})"
        )
    demands = [f"at least {one.at_least:g} times" if one.at_least is not None else ""]
    demands += [f"at most {one.at_most:g}" if one.at_most is not None else ""]
    if one.exponent is not None:
        demands.append(f"cost grows as size to the power {one.exponent:g}, at most {one.most_exponent:g}")
    demand = ", ".join(word for word in demands if word)
    verdict = f"  [{'MISSED' if one.missed else 'met'}: {demand}]" if demand else ""
    return (
        f"{one.name}: {one.figure:g} {one.unit}, {one.ratio:g} times as fast as {one.reference} "
        f"({one.reference_figure:g}){verdict}"
    )


def main(words: list[str]) -> int:
    for file in sorted(HERE.glob("bench_*.py")):
        importlib.import_module(f"benches.{file.stem}")
    wanted = [one for name, one in BENCHES.items() if all(word.lower() in name.lower() for word in words)]
    if not wanted:
        print(f"No bench is called so. There are: {', '.join(BENCHES) or 'none yet'}.")
        return 2
    results = []
    for one in wanted:
        try:
            results.append(measure(one))
        except NotRunHere as reason:
            print(f"{one.name}: not run here: {reason}", flush=True)
            continue
        print(line(results[-1]), flush=True)
    if not words:
        study = headline(json.loads(STUDY.read_text(encoding="utf-8")))
        found = {"machine": machine(), "results": [dataclasses.asdict(one) for one in results], STUDY.stem: study}
        RESULTS.write_text(json.dumps(found, indent=1) + "\n", encoding="utf-8")
        print(f"Written to benches/{RESULTS.name}.")
    return 1 if any(one.missed for one in results) else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
