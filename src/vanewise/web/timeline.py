"""What comes next on one line of time: a mark for a day, a stroke where hours make it a spell of days. SVG."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Sequence
from html import escape

from vanewise.watch.types import DueItem
from vanewise.wording import capital

Place = Callable[[datetime.date], float]
WIDTH, LEFT, RIGHT, TOP, ROW = 390.0, 10.0, 10.0, 34.0, 40.0
LONGEST_DAYS = 1096
MOST = 14


def timeline(items: Sequence[DueItem], today: datetime.date) -> str:
    """The drawing; empty where no item has a day. What lies beyond three years ends in an arrow."""
    dated = [item for item in items if item.due_date is not None or item.expected_from is not None][:MOST]
    if not dated:
        return ""
    ends = [day for item in dated for day in _days(item, today)]
    last = min(max(ends) + datetime.timedelta(days=20), today + datetime.timedelta(days=LONGEST_DAYS))
    last = max(last, today + datetime.timedelta(days=60))
    height = TOP + ROW * len(dated) + 14.0

    def x(day: datetime.date) -> float:
        share = (min(max(day, today), last) - today).days / (last - today).days
        return LEFT + share * (WIDTH - LEFT - RIGHT)

    box = f"0 0 {WIDTH:g} {height:g}"
    name = "What comes next, by date"
    out = [f'<svg viewBox="{box}" role="img" aria-label="{name}" xmlns="http://www.w3.org/2000/svg">']
    for day, words in _months(today, last):
        out.append(f'<path class="grid" d="M{x(day):.1f} {TOP - 8:g}V{height - 6:g}"/>')
        out.append(f'<text x="{x(day):.1f}" y="{TOP - 14:g}" text-anchor="middle">{words}</text>')
    out.append(f'<path class="axis" d="M{LEFT:g} {TOP - 8:g}V{height - 6:g}"/>')
    for number, item in enumerate(dated):
        y = TOP + ROW * number + 26.0
        out += _row(item, today, last, x, y)
    return "".join([*out, "</svg>"])


def _days(item: DueItem, today: datetime.date) -> list[datetime.date]:
    found = [day for day in (item.due_date, item.expected_from, item.expected_to) if day is not None]
    return [max(day, today) for day in found]


def _row(item: DueItem, today: datetime.date, last: datetime.date, x: Place, y: float) -> list[str]:
    first = min(_days(item, today))
    place = x(first)
    end = place > WIDTH * 0.55
    anchor, at = ("end", place) if end else ("start", place)
    words = capital(item.item)
    if item.state in ("overdue", "due"):
        words = f"{words}: {item.state}"
    out = [f'<text x="{at:.1f}" y="{y - 9:.1f}" text-anchor="{anchor}">{escape(words[:44])}</text>']
    counted = item.expected_from is not None and item.expected_to is not None and item.expected_from < last
    if counted and item.state not in ("overdue", "due"):
        assert item.expected_from is not None and item.expected_to is not None
        a, b = x(item.expected_from), x(item.expected_to)
        out.append(f'<path class="middle" d="M{a:.1f} {y:.1f}H{max(b, a + 3):.1f}"/>')
        if item.expected_to > last:
            out.append(f'<path class="middle" d="M{b - 8:.1f} {y - 5:.1f}L{b:.1f} {y:.1f}L{b - 8:.1f} {y + 5:.1f}"/>')
    day = item.due_date
    if day is not None or item.state in ("overdue", "due"):
        d = x(day or today)
        corners = f"M{d - 6:.1f} {y:.1f}L{d:.1f} {y - 6:.1f}L{d + 6:.1f} {y:.1f}L{d:.1f} {y + 6:.1f}Z"
        out.append(f'<path class="day" d="{corners}"/>')
    return out


def _months(first: datetime.date, last: datetime.date) -> list[tuple[datetime.date, str]]:
    count = (last.year - first.year) * 12 + last.month - first.month
    step = next((step for step in (1, 2, 3, 6, 12) if count / step <= 6), 12)
    found = []
    for number in range(1, count + 1):
        year, month = divmod(first.year * 12 + first.month - 1 + number, 12)
        if (year * 12 + month) % step == 0:
            day = datetime.date(year, month + 1, 1)
            found.append((day, f"{day:%b %Y}" if step < 12 else str(year)))
    return found
