"""Photographs of a job: taken in, kept by digest, found again."""

from __future__ import annotations

from typing import Any

from vanewise.aircraft.description import AircraftDescription
from vanewise.errors import wrong
from vanewise.jobs import kinds, work
from vanewise.jobs.casebook import Book, now, open_book
from vanewise.store import files, journal, pictures
from vanewise.work import photos as rules
from vanewise.work.types import Photo, WorkPackage

SHORT = 16
"""Letters of the digest that a picture's address carries."""


def take(
    aircraft: str,
    key: str,
    data: bytes,
    *,
    about: str,
    moment: str,
    author: str,
    note: str = "",
    at: str = "",
) -> Photo:
    """Keep a photograph of a job: the original by digest, and the upright pictures made from it.

    Everything is checked and decoded before anything is kept. The same picture of the same thing again is kept once.
    Raises InputError for what is no picture, and for a name or subject that is missing.
    """
    if not author.strip():
        raise wrong("who", "a name", "nothing", "write your name under “Working now”")
    found = work.job(open_book(aircraft), key)
    made = pictures.make(data)
    at = at or now()
    original = files.digest_of(data)
    photo = Photo(
        id=original[:SHORT],
        original=original,
        shown=files.digest_of(made.shown),
        small=files.digest_of(made.small),
        width=made.width,
        height=made.height,
        media_type=made.media_type,
        about=about.strip(),
        moment=moment,  # type: ignore[arg-type]
        note=note.strip(),
        taken_by=author.strip(),
        taken_at=at,
    )
    rules.check_photo(photo)
    for old in found.log.photos:
        if (old.id, old.about, old.moment) == (photo.id, photo.about, photo.moment):
            return old
    for body, media_type in ((data, made.media_type), (made.shown, "image/jpeg"), (made.small, "image/jpeg")):
        files.keep(body, media_type=media_type, at=at)
    said: dict[str, Any] = {
        "photo": photo.id,
        "original": photo.original,
        "shown": photo.shown,
        "small": photo.small,
        "width": photo.width,
        "height": photo.height,
        "media_type": photo.media_type,
        "about": photo.about,
        "moment": photo.moment,
        "note": photo.note,
        "by": photo.taken_by,
        "at": at,
    }
    # A picture stands by itself: whatever was kept meanwhile, it goes after it.
    work.do(aircraft, key, "photographed", said, author=author, expected_head=journal.ANY_HEAD, at=at)
    return photo


def photo(found: work.Job, photo_id: str) -> Photo:
    """The picture of that id. Raises InputError when the job has none."""
    for one in found.log.photos:
        if one.id == photo_id:
            return one
    raise wrong("photograph", "a picture of this job", f'"{photo_id}"', "choose one from its photographs")


def body_of(book: Book, digest: str) -> tuple[bytes, str]:
    """The bytes and kind of a picture that stands in this aircraft's journal. Raises InputError for any other digest.

    An original is given too: it is the picture as the camera wrote it, with whatever it wrote into it.
    """
    for entry in book.of(kinds.STEP, what="photographed"):
        if digest in (entry.content.get("original"), entry.content.get("shown"), entry.content.get("small")):
            body, kept = files.read(digest)
            return body, kept.media_type
    raise wrong("photograph", "a picture of this aircraft", digest[:12], "choose one from the photographs of a job")


def subjects(description: AircraftDescription, package: WorkPackage) -> list[tuple[str, list[tuple[str, str]]]]:
    """What a picture can be of, in groups: (group, [(value, words)])."""
    lines = [(tag.line, f"{tag.number} · {tag.line.replace('_', ' ')}") for tag in package.hose_tags] or [
        (line.id, line.label) for line in description.lines
    ]
    return [
        ("The whole", [(words, words) for words in rules.WHOLE]),
        ("Lines", lines),
        ("Fittings", [(item.id, f"fitting at {item.port.replace('.', ', ')}") for item in package.fittings]),
        ("Parts", [(part.id, part.label) for part in description.parts]),
        ("Evidence", [(words, words) for words in rules.SUBJECTS]),
    ]
