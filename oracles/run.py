"""Ask the reference libraries and write what they answer: ``python -m oracles.run --out FILE``."""

from __future__ import annotations

import argparse
import json
import logging
import warnings
from pathlib import Path

from oracles.kit import answers


def main() -> int:
    parser = argparse.ArgumentParser(description="Write the answers of the reference libraries.")
    parser.add_argument("--out", type=Path, required=True)
    options = parser.parse_args()
    # The libraries' own deprecations are no news about our answers.
    warnings.simplefilter("ignore")
    logging.disable(logging.WARNING)
    found = answers()
    options.out.parent.mkdir(parents=True, exist_ok=True)
    options.out.write_text(json.dumps(found, indent=1, allow_nan=False) + "\n", encoding="utf-8")
    for name, one in found["sets"].items():
        print(f"{len(one['cases']):4} cases  {name}: {one['library']}")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
