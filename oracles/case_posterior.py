"""Exact posteriors of a small discrete diagnosis, by ``pyAgrum``."""

from __future__ import annotations

import itertools
from collections.abc import Iterator

import pyagrum

from oracles.kit import Case, oracle_set

# Four causes, each with five equally likely rows (how bad it is), four things whose chance of being there to be noticed
# hangs on the row, and one reporter whose reliability is shared by all remarks. A thing that is told of was noticed; a
# thing that was looked for and not found may have been missed. All numbers are made up for their arithmetic.
PRIOR = (0.45, 0.30, 0.20, 0.05)
ROWS = 5
RELIABILITY = (0.3, 0.5, 0.2)
CANDOUR = (0.98, 0.85, 0.60)
"""Chance that a reporter of each kind says what is so; else the remark is a coin toss."""
MISS = 0.15
"""Chance that a look misses what is there."""
CHANCE = (
    ((0.05, 0.20, 0.45, 0.70, 0.90), (0.10, 0.15, 0.20, 0.30, 0.40), (0.02, 0.02, 0.05, 0.05, 0.10), (0.5,) * 5),
    ((0.30, 0.30, 0.35, 0.35, 0.40), (0.60, 0.70, 0.80, 0.90, 0.95), (0.05, 0.10, 0.15, 0.20, 0.25), (0.1,) * 5),
    ((0.01, 0.02, 0.03, 0.04, 0.05), (0.10, 0.10, 0.10, 0.10, 0.10), (0.30, 0.50, 0.70, 0.85, 0.95), (0.8,) * 5),
    ((0.25,) * 5, (0.25,) * 5, (0.25,) * 5, (0.25,) * 5),
)
"""Chance that thing k is there to be noticed under cause h and row r: CHANCE[h][k][r]."""


@oracle_set(
    "discrete_posterior",
    library="pyagrum",
    about="Posterior of the cause given things told of (1), looked for and not found (0) or not mentioned: prior[h] "
    "times the mean over rows r of the sum over reporters c of reliability[c] times the product over k of "
    "candour[c] * q + (1 - candour[c]) / 2, where q is chance[h][k][r] if told of, else "
    "1 - (1 - miss) * chance[h][k][r].",
)
def _discrete_posterior() -> Iterator[Case]:
    net = _network()
    for said in (
        {},
        {0: 1},
        {0: 1, 1: 0},
        {0: 0, 2: 1},
        {0: 1, 1: 1, 2: 1, 3: 1},
        {0: 0, 1: 0, 2: 0, 3: 0},
        {3: 1, 2: 0},
    ):
        inference = pyagrum.LazyPropagation(net)
        inference.setEvidence({(f"told{k}" if value else f"looked{k}"): value for k, value in said.items()})
        inference.makeInference()
        yield (
            {
                "prior": list(PRIOR),
                "reliability": list(RELIABILITY),
                "candour": list(CANDOUR),
                "miss": MISS,
                "chance": [[list(remark) for remark in cause] for cause in CHANCE],
                "said": {str(k): value for k, value in said.items()},
            },
            {"posterior": [float(p) for p in inference.posterior("cause").tolist()]},
        )


def _network() -> pyagrum.BayesNet:
    net = pyagrum.BayesNet()
    net.add(pyagrum.LabelizedVariable("cause", "cause", len(PRIOR)))
    net.add(pyagrum.LabelizedVariable("row", "row", ROWS))
    net.add(pyagrum.LabelizedVariable("reporter", "reporter", len(RELIABILITY)))
    net.cpt("cause").fillWith(list(PRIOR))
    net.cpt("row").fillWith([1.0 / ROWS] * ROWS)
    net.cpt("reporter").fillWith(list(RELIABILITY))
    for k, (kind, seen) in itertools.product(range(len(CHANCE[0])), (("told", 1.0), ("looked", 1.0 - MISS))):
        name = f"{kind}{k}"
        net.add(pyagrum.LabelizedVariable(name, name, 2))
        for parent in ("cause", "row", "reporter"):
            net.addArc(parent, name)
        for h, r, c in itertools.product(range(len(PRIOR)), range(ROWS), range(len(RELIABILITY))):
            present = CANDOUR[c] * seen * CHANCE[h][k][r] + 0.5 * (1.0 - CANDOUR[c])
            net.cpt(name)[{"cause": h, "row": r, "reporter": c}] = [1.0 - present, present]
    return net
