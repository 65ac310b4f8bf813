"""Pages that go with something: the packet for a warranty claim, the note in an instrument's box, the count sheet.

And the photographs on paper, with what was marked on them, readable in black and white.
"""

from __future__ import annotations

import base64
import datetime
from collections.abc import Sequence
from typing import Any

import msgspec

from vanewise.errors import wrong
from vanewise.prints.press import paper, typeset
from vanewise.prints.work_package import sheets_of
from vanewise.work.types import Mark, Photo, WorkPackage


class Picture(msgspec.Struct, frozen=True, kw_only=True):
    """A photograph as it is printed: an SVG with the picture in it and its marks on it, and the words below."""

    svg: str
    title: str
    words: tuple[str, ...] = ()


class Section(msgspec.Struct, frozen=True, kw_only=True):
    """A heading and its lines, each what and how it is."""

    title: str
    rows: tuple[tuple[str, str], ...]


def picture(jpeg: bytes, photo: Photo, marks: Sequence[Mark], *, title: str, words: Sequence[str] = ()) -> Picture:
    """A photograph for paper. ``jpeg`` is the shown picture or a smaller one; numbers on it follow ``marks``."""
    width, height = photo.width, photo.height
    radius = width / 26
    rings = "".join(
        f'<circle cx="{mark.x * width:.1f}" cy="{mark.y * height:.1f}" r="{radius:.1f}" fill="#000" stroke="#fff" '
        f'stroke-width="{radius / 5:.1f}"/><text x="{mark.x * width:.1f}" y="{mark.y * height + radius * 0.36:.1f}" '
        f'font-family="DejaVu Sans" font-size="{radius:.1f}" text-anchor="middle" fill="#fff">{number}</text>'
        for number, mark in enumerate(marks, start=1)
    )
    data = base64.b64encode(jpeg).decode("ascii")
    svg = (
        f'<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" '
        f'viewBox="0 0 {width} {height}" width="{width}" height="{height}">'
        f'<image width="{width}" height="{height}" xlink:href="data:image/jpeg;base64,{data}"/>{rings}</svg>'
    )
    return Picture(svg=svg, title=title, words=tuple(words))


def packet_pdf(
    sections: Sequence[Section],
    pictures: Sequence[Picture] = (),
    *,
    title: str,
    about: str,
    lead: str,
    foot: str,
    dated: datetime.date,
    page: str = "a4",
) -> bytes:
    """Sections and pictures as pages. Same input, same bytes."""
    data = {
        "paper": paper(page),
        "title": title,
        "about": about,
        "lead": lead,
        "foot": foot,
        "sections": [{"title": section.title, "rows": section.rows} for section in sections if section.rows],
        "pictures": shown(pictures),
    }
    return typeset("packet", data, dated)


def shown(pictures: Sequence[Picture]) -> list[dict[str, Any]]:
    """Pictures as a template takes them."""
    return [{"svg": one.svg, "title": one.title, "words": one.words} for one in pictures]


def count_sheet_pdf(package: WorkPackage, *, page: str = "a4") -> bytes:
    """The count sheet alone. Raises :class:`InputError` for a package that counts nothing."""
    if not package.counts:
        raise wrong("count sheet", "a package with something to count", "none", "print the package itself")
    return typeset("count_sheet", sheets_of(package, page), package.made_on)


def shop_note_pdf(package: WorkPackage, part: str, found: Sequence[str] = (), *, page: str = "a4") -> bytes:
    """The note that goes into the box with an instrument. ``found`` is what was seen since it was planned.

    Raises :class:`InputError` when the package sends no such part away.
    """
    note = next((note for note in package.shop_notes if note.part == part), None)
    if note is None:
        known = ", ".join(note.part for note in package.shop_notes) or "none: this package sends nothing away"
        raise wrong("shop note", known, f'"{part}"', "choose an instrument that goes to a shop")
    data = sheets_of(package, page)
    data["note"] = next(item for item in data["notes"] if item["label"] == note.label)
    data["found"] = list(found)
    return typeset("shop_note", data, package.made_on)
