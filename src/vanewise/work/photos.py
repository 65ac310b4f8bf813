"""Photographs of a job and the points marked on them: what each shows, before and after, and an angle read off one.

A picture is a value here: its digest, its size and what it is of. Points are fractions of its width and height from the
top left corner, so that they hold at any size it is shown in.
"""

from __future__ import annotations

import math
from typing import Final, Literal, get_args

import msgspec

from vanewise.errors import wrong

Moment = Literal["before", "after", "found"]
"""Before anything was loosened, after it went together again, or of something found on the way."""
MOMENTS: Final[tuple[str, ...]] = get_args(Moment)

Role = Literal["port", "hose end", "centre", "twelve", "tip"]
"""A port, the end of a line, or one of the three points an angle is read from."""
ROLES: Final[tuple[str, ...]] = get_args(Role)

WHOLE: Final = ("engine bay", "behind the panel", "data plates")
"""What a picture can be of beside one part, line or fitting."""

FILTER_CUT: Final = "old filter cut open"
OLD_CORE: Final = "old pump and every piece, laid out"
PIECES: Final = "the whole set of vanes and pieces, laid out"
SUBJECTS: Final = (FILTER_CUT, OLD_CORE, PIECES)
"""What a gate can ask a picture of."""

SHORTEST: Final = 0.03
"""Judgement: two points closer than this share of the picture's height give no direction a person could check."""


class Mark(msgspec.Struct, frozen=True, kw_only=True):
    """A point on a picture. ``about`` is a port, ``line|port`` for a hose end, or a fitting's id."""

    photo: str
    role: Role
    about: str
    x: float
    y: float


class Photo(msgspec.Struct, frozen=True, kw_only=True):
    """One picture. ``id`` is the start of the digest of the original; ``shown`` and ``small`` are made from it."""

    id: str
    original: str
    shown: str
    small: str
    width: int
    height: int
    media_type: str
    about: str
    moment: Moment
    note: str = ""
    taken_by: str = ""
    taken_at: str = ""


def check_photo(photo: Photo) -> None:
    """Raise :class:`InputError` for a moment there is no word for, or a picture of nothing."""
    if photo.moment not in MOMENTS:
        raise wrong("photograph", f"one of {', '.join(MOMENTS)}", f'"{photo.moment}"', "say when it was taken")
    if not photo.about.strip():
        raise wrong("photograph", "what it shows", "nothing", "choose what the picture is of")


def check_mark(mark: Mark) -> None:
    """Raise :class:`InputError` for a point beside the picture or a role there is no word for."""
    if mark.role not in ROLES or not mark.about:
        raise wrong("mark", f"one of {', '.join(ROLES)}, and of what", f'"{mark.role}"', "choose what you mark")
    if not (0.0 <= mark.x <= 1.0 and 0.0 <= mark.y <= 1.0):
        raise wrong("mark", "a point on the picture", f"{mark.x:g} across, {mark.y:g} down", "touch the picture itself")


def with_mark(marks: tuple[Mark, ...], mark: Mark) -> tuple[Mark, ...]:
    """The marks with one more; the same thing marked again on the same picture moves there."""
    same = (mark.photo, mark.role, mark.about)
    return (*(old for old in marks if (old.photo, old.role, old.about) != same), mark)


def clock_angle(photo: Photo, marks: tuple[Mark, ...], fitting: str, *, mirrored: bool = False) -> float | None:
    """Degrees clockwise from twelve o'clock to where a fitting points, 0 to 360; None until its three points are there.

    The zero is the point marked ``twelve``, seen from the middle of the port; the viewpoint is the camera's, looking at
    the port. ``mirrored`` is for a picture taken in a mirror: it turns the other way. Exact for a camera square to the
    port; one held askew by an angle a moves the answer by at most 2 asin((1 - cos a) / (1 + cos a)), 3.6 deg at 20.
    Raises :class:`InputError` when two of the points lie too close together to give a direction.
    """
    points = {mark.role: mark for mark in marks if mark.photo == photo.id and mark.about == fitting}
    if not {"centre", "twelve", "tip"} <= points.keys():
        return None
    centre = points["centre"]
    headings = []
    for role in ("twelve", "tip"):
        across = (points[role].x - centre.x) * photo.width
        down = (points[role].y - centre.y) * photo.height
        if math.hypot(across, down) < SHORTEST * photo.height:
            raise wrong(
                f"angle of {fitting}",
                "three points well apart",
                "two of them nearly in one place",
                "mark the middle of the port, then a point far out towards twelve and one far out along the fitting",
            )
        headings.append(math.degrees(math.atan2(across, -down)))
    turned = headings[1] - headings[0]
    return (-turned if mirrored else turned) % 360.0


def pairs(photos: tuple[Photo, ...]) -> tuple[tuple[str, tuple[Photo, ...], tuple[Photo, ...]], ...]:
    """(what, before, after) for everything there is a picture of, in the order first seen; ``found`` counts as before.

    Within each the newest comes last.
    """
    subjects = dict.fromkeys(photo.about for photo in photos)
    return tuple(
        (
            about,
            tuple(photo for photo in photos if photo.about == about and photo.moment != "after"),
            tuple(photo for photo in photos if photo.about == about and photo.moment == "after"),
        )
        for about in subjects
    )
