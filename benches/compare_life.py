"""Weibull fits beside two libraries in one run: same data, same machine, ratio of times, difference of likelihoods.

Run ``python benches/compare_life.py PYTHON`` with the interpreter of the environment of the reference libraries (see
``oracles/README.md``). Each library is timed in a process of its own, after one fit that is not counted; ours is timed
before and after them. It writes ``benches/life_comparison.json``. Data are drawn here: Weibull lives of 1,000 h and
shape 2.5, cut by random ends of observation; the second kind is known only between looks every 150 h and from a random
age on.
"""

from __future__ import annotations

import json
import pathlib
import subprocess
import sys
import time

import numpy as np

from vanewise.watch.lifetimes import lifetimes
from vanewise.watch.weibull import fit

SIZES = (1_000, 10_000, 100_000, 1_000_000)
KINDS = ("right-censored", "between looks, late entry")
REPEATS = 3
HERE = pathlib.Path(__file__).parent

REFERENCE = """
import json, sys, time, warnings
import numpy as np
warnings.filterwarnings("ignore")
library, kind, path = sys.argv[1:4]
data = np.load(path)
lower, upper, entry = data["lower"], data["upper"], data["entry"]
late = entry if entry.any() else None

def lifelines_fit():
    from lifelines import WeibullFitter
    if kind == "right-censored":
        found = WeibullFitter().fit(lower, np.isfinite(upper))
    else:
        found = WeibullFitter().fit_interval_censoring(lower, upper, entry=late)
    return float(found.lambda_), float(found.rho_), float(found.log_likelihood_)

def surpyval_fit():
    import surpyval
    marks = np.where(~np.isfinite(upper), 1, np.where(lower == upper, 0, 2))
    more = {} if late is None else {"tl": late}
    if kind == "right-censored":
        found = surpyval.Weibull.fit(lower, c=marks, **more)
    else:
        pairs = np.column_stack([lower, np.where(marks == 2, upper, lower)])
        found = surpyval.Weibull.fit(pairs, c=marks, **more)
    return float(found.params[0]), float(found.params[1]), -float(found.neg_ll())

run = {"lifelines": lifelines_fit, "surpyval": surpyval_fit}[library]
answer, times = run(), []
for _ in range(int(sys.argv[4])):
    start = time.perf_counter()
    answer = run()
    times.append(time.perf_counter() - start)
print(json.dumps({"eta": answer[0], "beta": answer[1], "log_likelihood": answer[2], "seconds": min(times)}))
"""


def drawn(kind: str, size: int) -> dict[str, np.ndarray]:
    """Lower and upper bound of each life and its age of entry."""
    rng = np.random.default_rng(size)
    lives, end = 1000.0 * rng.weibull(2.5, size), rng.uniform(300.0, 2000.0, size)
    if kind == "right-censored":
        ended = lives < end
        return {
            "lower": np.where(ended, lives, end),
            "upper": np.where(ended, lives, np.inf),
            "entry": np.zeros(size),
        }
    entry = rng.uniform(0.0, 600.0, size)
    seen = lives > entry
    lives, end, entry = lives[seen], np.maximum(end, entry + 50.0)[seen], entry[seen]
    look = np.floor((lives - entry) / 150.0) * 150.0 + entry
    ended = look + 150.0 < end
    return {"lower": np.where(ended, look, end), "upper": np.where(ended, look + 150.0, np.inf), "entry": entry}


def ours(data: dict[str, np.ndarray]) -> dict[str, float]:
    times = []
    for _ in range(REPEATS + 1):
        start = time.perf_counter()
        found = fit(lifetimes(data["lower"], data["upper"], data["entry"]))
        times.append(time.perf_counter() - start)
    return {
        "eta": found.eta,
        "beta": found.beta,
        "log_likelihood": found.log_likelihood,
        "seconds": min(times[1:]),
    }


def theirs(python: str, library: str, kind: str, path: pathlib.Path) -> dict[str, float]:
    done = subprocess.run(
        [python, "-c", REFERENCE, library, kind, str(path), str(REPEATS)], capture_output=True, text=True, check=True
    )
    return json.loads(done.stdout.splitlines()[-1])


def main() -> None:
    python = sys.argv[1]
    rows = []
    for kind in KINDS:
        for size in SIZES:
            data = drawn(kind, size)
            path = HERE / "life_comparison.npz"
            np.savez(path, **data)
            first = ours(data)
            found = {library: theirs(python, library, kind, path) for library in ("lifelines", "surpyval")}
            second = ours(data)
            path.unlink()
            seconds = min(first["seconds"], second["seconds"])
            row: dict[str, object] = {"kind": kind, "lives": len(data["lower"]), "ours_s": round(seconds, 5)}
            row["noisy"] = abs(first["seconds"] - second["seconds"]) > 0.2 * seconds
            for library, answer in found.items():
                gap = abs(answer["log_likelihood"] - first["log_likelihood"]) / abs(first["log_likelihood"])
                row[library] = {
                    "seconds": round(answer["seconds"], 5),
                    "times_ours": round(answer["seconds"] / seconds, 2),
                    "likelihood_gap": float(f"{gap:.1e}"),
                }
            rows.append(row)
            print(row, flush=True)
    (HERE / "life_comparison.json").write_text(json.dumps({"rows": rows}, indent=1) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
