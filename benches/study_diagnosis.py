"""How honest and how useful the diagnosis is, on generated cases with known truths.

Run ``python -m benches.study_diagnosis [CASES] [FIRST_SEED] [PATHS] [PROCESSES]``; it writes
``benches/diagnosis_study.json`` as it goes. The cases come from ``tests/generator``, which knows nothing of the
diagnosis, on four invented aircraft whose banks are kept. Every case gets both answers: the bank's, and the refined one
that the program puts in its place. The policy of checks is followed on a share, and on another share it is looked
whether 'undecided' stands where two causes are equal. Intervals are percentiles of 300 bootstrap draws over cases. All
cases are simulated: this measures the arithmetic, and what wrong assumptions cost, not the trade's own faults.
"""

from __future__ import annotations

import json
import multiprocessing
import os
import pathlib
import sys
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from benches.study_figures import equal_figures, figures, ruled_out
from benches.study_paths import Path, follow, off_by_half, path_figures, to_look_at
from benches.study_rows import ARMS, Row, fleet, judged
from tests.generator.cases import Aircraft, Arm, Case, make
from vanewise.diagnosis import bank

STUDY_SEED: Final = 7_460_000
"""Never used while anything was built; development has seeds below 1,000."""
CASES: Final = 2500
PATHS: Final = 80
SHARES: Final[Mapping[Arm, float]] = {
    "model true": 1 / 3,
    "gauge biased": 0.2,
    "other drive ratio": 0.2,
    "defaults wrong": 0.2,
    "fault outside": 1 / 15,
}
"""A wrong truth is asked for a share of some 2 %, which takes more cases to tell than a calibration error does."""
EQUAL_EVERY: Final = 2
_ALL_BANKS: Final = 32
"""Enough for four aircraft, each as it is and with pump, setting or gauge changed: some 70 MB each."""
_AT_ONCE: Final = 12
"""Cases of one piece of work: few enough that the figures so far are written often."""

Pair = tuple[Path, Path]


@dataclass(frozen=True, slots=True)
class Piece:
    """Cases of one arm on one aircraft, judged, and followed if ``follow``."""

    layout: str
    arm: Arm
    seed: int
    numbers: tuple[int, ...]
    follow: bool


def pieces(cases: int, seed: int, paths: int) -> list[Piece]:
    """The whole study: cases shared out by :data:`SHARES`; paths with the model true.

    In an order in which a run cut short has something of everything.
    """
    found: list[list[Piece]] = []
    layouts = list(fleet())
    for place, layout in enumerate(layouts):
        for number, arm in enumerate(ARMS):
            count = round(cases * SHARES[arm])
            found.append(list(_cut(layout, arm, seed + number, range(place, count, len(layouts)), _AT_ONCE, False)))
        every = range(place, round(cases * SHARES["model true"]), len(layouts))
        step = max(1, len(every) * len(layouts) // max(1, paths))
        followed = every[1 % max(1, len(every)) :: step][: -(-paths // len(layouts))]
        found.append(list(_cut(layout, "model true", seed, followed, 1, True)))
    place_of = [(number / len(own), at, piece) for at, own in enumerate(found) for number, piece in enumerate(own)]
    return [piece for _, _, piece in sorted(place_of, key=lambda entry: entry[:2])]


def _cut(layout: str, arm: Arm, seed: int, numbers: Sequence[int], size: int, follow: bool) -> Iterator[Piece]:
    for at in range(0, len(numbers), size):
        yield Piece(layout, arm, seed, tuple(numbers[at : at + size]), follow)


_aircraft: dict[str, Aircraft] = {}


def work(piece: Piece) -> tuple[list[Row], list[Pair]]:
    """Judge one piece. Cases that need the same bank stand together."""
    if not _aircraft:
        _aircraft.update(fleet())
        bank.MOST_BANKS = _ALL_BANKS

    def again(number: int) -> Case:
        return make(_aircraft[piece.layout], piece.seed, number, piece.arm)

    if piece.follow:
        return [], [
            (follow(again(n), cheapest_first=False), follow(again(n), cheapest_first=True)) for n in piece.numbers
        ]
    rows = []
    for case in sorted(map(again, piece.numbers), key=_changes):
        look = case.arm == "model true" and case.number // 4 % EQUAL_EVERY == 0
        rows.append(judged(case, look_for_equals=look))
    return rows, []


def _changes(case: Case) -> tuple[bool, bool, int]:
    kinds = {event["kind"] for event in case.evidence.get("events", [])}
    return "pump_changed" in kinds, "regulator_adjusted" in kinds, case.number


Keep = Callable[[dict[str, Any]], None]


def run(
    cases: int, seed: int, paths: int, processes: int = 1, keep: Keep = lambda found: None
) -> tuple[list[Row], list[Pair]]:
    """All pieces, in as many processes. ``keep`` gets the figures so far, so that a run cut short is not lost."""
    rows: list[Row] = []
    pairs: list[Pair] = []
    wanted = pieces(cases, seed, paths)
    with multiprocessing.get_context("spawn").Pool(processes) as pool:
        for done, (own, followed) in enumerate(pool.imap(work, wanted), 1):
            rows += own
            pairs += followed
            if done % 10 == 0 or done == len(wanted):
                keep(summary(rows, pairs, cases, seed))
    return rows, pairs


def summary(rows: Sequence[Row], paths: Sequence[Pair], cases: int, seed: int) -> dict[str, Any]:
    """All figures of the cases judged so far."""
    ordered = sorted(rows, key=lambda row: (ARMS.index(row.arm), row.layout, row.number))
    return {
        "cases asked for": cases,
        "cases judged": len(rows),
        "seed": seed,
        "refined answers": figures(ordered, refined=True),
        "first answers": figures(ordered, refined=False),
        "truths under 1 in 100": ruled_out(ordered),
        "two equal causes": equal_figures(ordered),
        "policy": path_figures(paths) if paths else {},
        "policy, every minute figure off by half": off_by_half(paths) if paths else {},
        "paths to look at": to_look_at(paths),
    }


def main() -> None:
    cases, seed, paths, processes = (
        int(sys.argv[at]) if len(sys.argv) > at else usual
        for at, usual in ((1, CASES), (2, STUDY_SEED), (3, PATHS), (4, len(os.sched_getaffinity(0))))
    )
    if processes > 1:
        os.environ["NUMBA_NUM_THREADS"] = os.environ["OPENBLAS_NUM_THREADS"] = "1"
    target = pathlib.Path(__file__).with_name("diagnosis_study.json")

    def keep(found: dict[str, Any]) -> None:
        target.write_text(json.dumps(found, indent=1) + "\n", encoding="utf-8")
        print(f"{found['cases judged']} of {cases}, {found['policy'].get('cases', 0)} paths", flush=True)

    run(cases, seed, paths, processes, keep)


if __name__ == "__main__":
    main()
