"""Solve the network of pipes as often as each line of standard input says, and answer with a line when it is done.

For a bench, which times how long the answer takes: the library lives in this environment, the bench in the project's.
"""

from __future__ import annotations

import logging
import sys
import warnings

from oracles.case_network import flow, network


def main() -> int:
    warnings.simplefilter("ignore")
    logging.disable(logging.WARNING)
    net = network({8: 1.4e-3, 9: 3.0e-3})
    print("ready", flush=True)
    for line in sys.stdin:
        for _ in range(int(line)):
            flow(net)
        print("done", flush=True)
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
