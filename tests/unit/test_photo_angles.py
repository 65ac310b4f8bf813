"""A fitting's angle read off a picture, and what is marked on one."""

from __future__ import annotations

import math

import pytest

from vanewise.errors import InputError
from vanewise.work.photos import Mark, Photo, check_mark, clock_angle, pairs, with_mark

PHOTO = Photo(
    id="p",
    original="",
    shown="",
    small="",
    width=1600,
    height=1200,
    media_type="image/jpeg",
    about="f",
    moment="before",
)


def points(**pixels: tuple[float, float]) -> tuple[Mark, ...]:
    return tuple(
        Mark(photo="p", role=role, about="f", x=x / PHOTO.width, y=y / PHOTO.height)  # type: ignore[arg-type]
        for role, (x, y) in pixels.items()
    )


@pytest.mark.parametrize(
    ("tip", "degrees"), [((800, 100), 0.0), ((1200, 600), 90.0), ((800, 1000), 180.0), ((500, 900), 225.0)]
)
def test_the_angle_is_clockwise_from_twelve(tip: tuple[float, float], degrees: float):
    marks = points(centre=(800, 600), twelve=(800, 200), tip=tip)
    found = clock_angle(PHOTO, marks, "f")
    assert found is not None
    assert math.cos(math.radians(found - degrees)) == pytest.approx(1.0, abs=1e-9)


def test_a_camera_held_on_its_side_changes_nothing():
    # The whole scene turned by a right angle: twelve o'clock lies to the right.
    marks = points(centre=(800, 600), twelve=(1200, 600), tip=(800, 1000))
    assert clock_angle(PHOTO, marks, "f") == pytest.approx(90.0)


def test_a_mirror_turns_it_round():
    marks = points(centre=(800, 600), twelve=(800, 200), tip=(1200, 600))
    assert clock_angle(PHOTO, marks, "f", mirrored=True) == pytest.approx(270.0)


def test_no_angle_before_all_three_points_are_there():
    assert clock_angle(PHOTO, points(centre=(800, 600), twelve=(800, 200)), "f") is None


def test_points_in_one_place_are_refused():
    with pytest.raises(InputError, match="well apart"):
        clock_angle(PHOTO, points(centre=(800, 600), twelve=(801, 600), tip=(1200, 600)), "f")


def test_the_error_of_a_camera_askew_stays_within_what_the_page_says():
    """Derived here: a tilt by ``a`` shortens one direction of the port's plane by cos a, seen from afar."""
    tilt = math.radians(20.0)
    worst = 0.0
    for twelve in range(0, 360, 5):
        for tip in range(0, 360, 5):
            seen = []
            for degrees in (twelve, tip):
                angle = math.radians(degrees)
                seen.append((800 + 400 * math.sin(angle), 600 - 400 * math.cos(angle) * math.cos(tilt)))
            found = clock_angle(PHOTO, points(centre=(800, 600), twelve=seen[0], tip=seen[1]), "f")
            assert found is not None
            worst = max(worst, abs((found - (tip - twelve) + 180.0) % 360.0 - 180.0))
    bound = 2.0 * math.degrees(math.asin((1.0 - math.cos(tilt)) / (1.0 + math.cos(tilt))))
    assert worst <= bound + 1e-9
    assert worst > bound - 0.1


def test_the_same_thing_marked_again_moves():
    marks = with_mark(points(centre=(1, 1), tip=(2, 2)), points(centre=(800, 600))[0])
    assert [(mark.role, mark.x) for mark in marks] == [("tip", 2 / 1600), ("centre", 0.5)]


def test_a_point_beside_the_picture_is_refused():
    with pytest.raises(InputError, match="on the picture"):
        check_mark(Mark(photo="p", role="port", about="pump.inlet", x=1.2, y=0.5))


def test_what_was_found_stands_with_before():
    import msgspec

    taken = tuple(msgspec.structs.replace(PHOTO, id=str(n), moment=when) for n, when in enumerate(("after", "found")))
    ((about, before, after),) = pairs(taken)
    assert (about, [one.id for one in before], [one.id for one in after]) == ("f", ["1"], ["0"])
