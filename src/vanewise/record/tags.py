"""Tags that hang on parts, filters and hose ends: hours, date, next due, with the same as plain text for a QR code.

A tag is read in a dark cowling by someone who was not there. It says what it hangs on, since when by both clocks, and
when to come back.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterable

from vanewise.contamination.plumbing import SURROUNDINGS
from vanewise.errors import wrong
from vanewise.record.entry import Hours, limit_line
from vanewise.record.types import Tag, TagKind
from vanewise.watch.meters import text as hours_text
from vanewise.watch.types import DueItem
from vanewise.wording import capital
from vanewise.work.types import HoseTag

QR_MOST = 600
"""Characters that a QR code still holds at a size which prints and reads on a tag."""


def filter_tag(
    aircraft: str, label: str, hours: Hours, date: datetime.date, due: Iterable[DueItem] = (), by: str = ""
) -> Tag:
    """The tag of a filter just fitted: hours and date on it, and when to do it next."""
    lines = [("fitted", _when(hours, date)), *_next(due)]
    if by.strip():
        lines.append(("by", by))
    return _tag("filter fitted", capital(label), aircraft, lines)


def part_tag(
    aircraft: str,
    label: str,
    hours: Hours,
    date: datetime.date,
    *,
    serial: str = "",
    document: str = "",
    since_new_centihours: int | None = None,
    due: Iterable[DueItem] = (),
    by: str = "",
) -> Tag:
    """The tag of a part just fitted."""
    lines = [("fitted", _when(hours, date))]
    lines += [("serial", serial)] if serial.strip() else []
    lines += [("document", document)] if document.strip() else []
    lines += [("since new", hours_text(since_new_centihours))] if since_new_centihours is not None else []
    lines += _next(due)
    lines += [("by", by)] if by.strip() else []
    return _tag("part fitted", capital(label), aircraft, lines)


def removed_tag(
    aircraft: str,
    label: str,
    hours: Hours,
    date: datetime.date,
    *,
    reason: str,
    serial: str = "",
    since_new_centihours: int | None = None,
    seen: str = "",
    keep_until: datetime.date | None = None,
    by: str = "",
) -> Tag:
    """The tag of a part taken off: why, what was seen on it, and that it is not to be fitted.

    Raises :class:`InputError` without a reason: a part without its story is waste.
    """
    if not reason.strip():
        raise wrong(f"tag of {label}", "why the part came off", "nothing", "write what was wrong with it")
    lines = [("removed", _when(hours, date)), ("why", reason)]
    lines += [("serial", serial)] if serial.strip() else []
    lines += [("since new", hours_text(since_new_centihours))] if since_new_centihours is not None else []
    lines += [("seen on it", seen)] if seen.strip() else []
    lines += [("keep until", str(keep_until))] if keep_until else []
    lines += [("by", by)] if by.strip() else []
    lines.append(("not to be fitted", "until a certificated person has found it serviceable"))
    return _tag("part removed", capital(label), aircraft, lines)


def hose_end_tags(aircraft: str, tags: Iterable[HoseTag]) -> tuple[Tag, ...]:
    """A tag for each fitted end of each line, the same number on both; an end open to the surroundings needs none."""
    out = []
    for tag in tags:
        for this, other in (tag.ends, tag.ends[::-1]):
            if this in SURROUNDINGS:
                continue
            lines = [
                ("line", _name(tag.line)),
                ("this end", _name(this)),
                ("other end", _name(other)),
                ("bore", tag.bore),
                ("length", tag.length),
                ("flow", tag.flow),
            ]
            lines += [("note", tag.note)] if tag.note.strip() else []
            kept = [(name, value) for name, value in lines if value.strip()]
            out.append(_tag("hose end", f"{tag.number}", aircraft, kept))
    return tuple(out)


def _next(due: Iterable[DueItem]) -> list[tuple[str, str]]:
    return [("next", limit_line(item)) for item in due]


def _when(hours: Hours, date: datetime.date) -> str:
    shown = []
    if hours.tach_centihours is not None:
        shown.append(f"{hours_text(hours.tach_centihours)} tach")
    if hours.hour_meter_centihours is not None:
        shown.append(f"{hours_text(hours.hour_meter_centihours)} hour meter")
    return f"{date}{' at ' + ', '.join(shown) if shown else ', hours not written'}"


def _tag(kind: TagKind, title: str, aircraft: str, lines: Iterable[tuple[str, str]]) -> Tag:
    rows = (("aircraft", aircraft), *lines)
    return Tag(kind=kind, title=title, lines=rows, qr=_qr(kind, title, rows))


def _qr(kind: str, title: str, rows: Iterable[tuple[str, str]]) -> str:
    """The tag as plain text; what would not fit is cut at a line and says so."""
    lines = [f"{kind}: {title}"]
    for name, value in rows:
        line = f"{name}: {value}"
        if sum(len(kept) + 1 for kept in lines) + len(line) > QR_MOST - 20:
            lines.append("more on the tag")
            break
        lines.append(line)
    return "\n".join(lines)


def _name(identifier: str) -> str:
    return identifier.replace(".", ", ").replace("_", " ")
