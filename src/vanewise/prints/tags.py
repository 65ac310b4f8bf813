"""Tags for hoses, filters and parts, on the usual label sheets or a label printer, each with a QR code.

Sheet geometries are those commonly sold (from memory, common practice): print one page on plain paper first and hold
it against the labels.
"""

from __future__ import annotations

import datetime
from collections.abc import Mapping, Sequence
from types import MappingProxyType
from typing import Any, Final

import msgspec

from vanewise.errors import wrong
from vanewise.prints.press import qr_svg, typeset
from vanewise.record.types import Tag


class TagSheet(msgspec.Struct, frozen=True, kw_only=True):
    """A label sheet or a single label: all lengths in mm, type sizes in points."""

    name: str
    words: str
    page_width: float
    page_height: float
    columns: int
    rows: int
    left: float
    top: float
    width: float
    height: float
    pitch_x: float
    pitch_y: float
    code: float
    """Side of the QR code."""
    text: float = 7.0
    small: float = 6.0
    title: float = 9.5
    big: float = 20.0
    inset: float = 3.0
    outline: bool = False
    """Cutting lines, for plain paper."""


def _single(name: str, words: str, width: float, height: float, code: float, **sizes: float) -> TagSheet:
    plain = TagSheet(
        name=name,
        words=words,
        page_width=width,
        page_height=height,
        columns=1,
        rows=1,
        left=0.0,
        top=0.0,
        width=width,
        height=height,
        pitch_x=width,
        pitch_y=height,
        code=code,
    )
    return msgspec.structs.replace(plain, **sizes)


_ALL: Final = (
    TagSheet(
        name="a4-24",
        words="A4, 24 labels of 70 by 37 mm",
        page_width=210.0,
        page_height=297.0,
        columns=3,
        rows=8,
        left=0.0,
        top=0.5,
        width=70.0,
        height=37.0,
        pitch_x=70.0,
        pitch_y=37.0,
        code=24.0,
        text=6.4,
        small=5.4,
        title=8.5,
    ),
    TagSheet(
        name="a4-8",
        words="A4, 8 tags of 99 by 67.5 mm",
        page_width=210.0,
        page_height=297.0,
        columns=2,
        rows=4,
        left=4.5,
        top=13.0,
        width=99.0,
        height=67.5,
        pitch_x=101.5,
        pitch_y=67.75,
        code=34.0,
        text=8.6,
        small=7.0,
        title=12.0,
        big=30.0,
        inset=4.0,
        outline=True,
    ),
    TagSheet(
        name="letter-30",
        words="letter, 30 labels of 2 5/8 by 1 in",
        page_width=215.9,
        page_height=279.4,
        columns=3,
        rows=10,
        left=4.8,
        top=12.7,
        width=66.7,
        height=25.4,
        pitch_x=69.85,
        pitch_y=25.4,
        code=20.5,
        text=5.4,
        small=4.8,
        title=7.4,
        big=16.0,
        inset=2.2,
    ),
    TagSheet(
        name="letter-10",
        words="letter, 10 tags of 4 by 2 in",
        page_width=215.9,
        page_height=279.4,
        columns=2,
        rows=5,
        left=4.0,
        top=12.7,
        width=101.6,
        height=50.8,
        pitch_x=106.3,
        pitch_y=50.8,
        code=30.0,
        text=7.8,
        small=6.4,
        title=11.0,
        big=26.0,
        outline=True,
    ),
    _single(
        "label-62x29", "one label of 62 by 29 mm", 62.0, 29.0, 22.0, text=5.6, small=5.0, title=7.4, big=17.0, inset=2.2
    ),
    _single("label-62x100", "one tag of 62 by 100 mm", 62.0, 100.0, 42.0, text=8.0, small=7.0, title=11.0, big=30.0),
    _single("label-4x2in", "one label of 4 by 2 in", 101.6, 50.8, 32.0, text=8.0, small=6.6, title=11.0, big=26.0),
)

SHEETS: Final[Mapping[str, TagSheet]] = MappingProxyType({sheet.name: sheet for sheet in _ALL})


def tags_pdf(tags: Sequence[Tag], *, dated: datetime.date, sheet: str = "a4-24") -> bytes:
    """The tags on a sheet of :data:`SHEETS`. Same tags, same bytes.

    Raises :class:`InputError` for an unknown sheet, and when there is nothing to print.
    """
    if sheet not in SHEETS:
        raise wrong("label sheet", f"one of {', '.join(SHEETS)}", f'"{sheet}"', "choose one of these")
    if not tags:
        raise wrong("tags", "at least one tag", "none", "choose what is to be tagged")
    data = {"sheet": msgspec.to_builtins(SHEETS[sheet]), "tags": [_tag(tag) for tag in tags]}
    return typeset("tags", data, dated)


_SIZE: Final = ("bore", "length", "note")
"""Rows of a hose tag that share a line of print."""


def _tag(tag: Tag) -> dict[str, Any]:
    number, title, lines = "", tag.title, tag.lines
    if tag.kind == "hose end":
        # The number is what two ends are matched by: it stands large, the line's name beside it.
        number, title = tag.title, next((value for name, value in lines if name == "line"), "")
        size = ", ".join(value for name, value in lines if name in _SIZE)
        lines = (*((name, value) for name, value in lines if name not in ("line", *_SIZE)), ("bore, length", size))
    return {"kind": tag.kind, "number": number, "title": title, "lines": lines, "qr": qr_svg(tag.qr)}
