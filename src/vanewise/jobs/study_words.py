"""A study told for a terminal: what the gauge, the instruments and the pump saw, in words of the trade."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from vanewise.chances import chance
from vanewise.jobs.words import table, wrapped

if TYPE_CHECKING:
    from vanewise.jobs.study_shapes import Studied, StudyGroup, StudyOutcome

_SHOWN = (0.10, 0.50, 0.90)
_MOST_LINES = 40
"""Groups printed for an outcome; the files hold them all."""
_KINDS = {"gauge": "Gauge", "drop": "Drop across", "load": "Load on", "flow": "Free air through"}


def told(data: Studied) -> str:
    solved = f"{data.unsolved:,} not solved" if data.unsolved else "all solved"
    drawn = f"{data.draws:,} systems drawn with seed {data.seed}; " if data.draws > 1 else ""
    facts = f"{data.aircraft}. {drawn}{data.scenarios:,} scenarios, {solved}. Regulator: {data.regulator}."
    blocks = [f"{data.title}\n{wrapped(facts)}"]
    blocks += list(_outcomes(data))
    blocks.append(wrapped("The gauge does not show what the pump works against: that is the load."))
    blocks += [wrapped(remark) for remark in data.remarks]
    blocks.append(wrapped(f"Written: {', '.join(data.files)}."))
    return "\n\n".join(blocks)


def _outcomes(data: Studied) -> Iterator[str]:
    for number, first in enumerate(data.groups[0].outcomes):
        rows = [(group, group.outcomes[number]) for group in data.groups]
        yield _lamp(data, rows) if first.unit == "share" else _spread(data, first, rows)


def _heads(data: Studied) -> list[str]:
    return [key if unit in ("", key) else f"{key} {unit}" for key, unit in data.groups[0].at_unit.items()] or [""]


def _cells(group: StudyGroup) -> list[str]:
    return [f"{number:,.0f}" if abs(number) >= 100 else f"{number:.3g}" for number in group.at.values()] or ["all"]


def _spread(data: Studied, first: StudyOutcome, rows: list[tuple[StudyGroup, StudyOutcome]]) -> str:
    kind, _, of = first.name.partition(" ")
    against = []
    if first.low is not None:
        against.append((f"below {first.low:.1f}", "below"))
    if first.high is not None:
        against.append((f"above {first.high:.1f}", "above"))
    head = [
        *_heads(data),
        "least",
        "1 in 10 below",
        "middle",
        "1 in 10 above",
        "most",
        *(words for words, _ in against),
    ]
    lines = []
    for group, one in rows[:_MOST_LINES]:
        if one.least is None or one.most is None:
            lines.append([*_cells(group), "not solved", *("" for _ in range(4 + len(against)))])
            continue
        within = [item.value for item in one.quantiles if item.share in _SHOWN]
        solved = group.scenarios - group.unsolved
        counts = [_count(getattr(one, side), solved) for _, side in against]
        lines.append([*_cells(group), *(_two(x) for x in (one.least, *within, one.most)), *counts])
    title = f"{_KINDS[kind]}{' ' + of if of else ''}, {first.unit}"
    more = [f"  and {len(rows) - _MOST_LINES} lines more in the files"] if len(rows) > _MOST_LINES else []
    return "\n".join([title, table(head, lines), *more])


def _lamp(data: Studied, rows: list[tuple[StudyGroup, StudyOutcome]]) -> str:
    lines = [
        [*_cells(group), "not solved" if one.mean is None else _count(round(one.mean * solved), solved)]
        for group, one in rows[:_MOST_LINES]
        for solved in (group.scenarios - group.unsolved,)
    ]
    return "\n".join(["Lamp", table([*_heads(data), "on"], lines)])


def _count(count: int | None, of: int) -> str:
    """How many of the scenarios, told as people say a chance; a count is known, so none and all are said."""
    if not count:
        return "none"
    return "all" if count == of else chance(count / of)


def _two(number: float) -> str:
    return f"{round(number, 2) + 0.0:.2f}"
