"""No line of the drawing passes through a box, on the ready-made layouts and on graphs nobody drew before.

The check here is its own: it samples points along each line instead of comparing rectangles.
"""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from vanewise.aircraft import layouts
from vanewise.schematic import Box, Join, Placed, draw, graph_of, place
from vanewise.schematic.drawing import WIDEST
from vanewise.schematic.graph import PHONE_WIDTH, lines_through_boxes

WIDE_REM = 27.0
"""Least width of a wide drawing, as schematic.css has it."""

SIZES = ((150.0, 66.0), (112.0, 48.0), (92.0, 34.0), (112.0, 110.0))


def points_inside(placed: Placed, boxes: tuple[Box, ...]) -> list[tuple[int, str]]:
    """Every (line, box) where a point of the line lies more than 1 unit inside the box."""
    found = []
    for number, route in enumerate(placed.routes):
        for start, end in pairwise(route):
            steps = int(max(abs(end[0] - start[0]), abs(end[1] - start[1]))) + 1
            for step in range(steps + 1):
                x = start[0] + (end[0] - start[0]) * step / steps
                y = start[1] + (end[1] - start[1]) * step / steps
                for box in boxes:
                    middle = placed.centres[box.id]
                    if abs(x - middle[0]) < box.width / 2 - 1 and abs(y - middle[1]) < box.height / 2 - 1:
                        found.append((number, box.id))
    return found


def overlapping(placed: Placed, boxes: tuple[Box, ...]) -> list[tuple[str, str]]:
    pairs = []
    for index, first in enumerate(boxes):
        for second in boxes[index + 1 :]:
            (x1, y1), (x2, y2) = placed.centres[first.id], placed.centres[second.id]
            if abs(x1 - x2) < (first.width + second.width) / 2 and abs(y1 - y2) < (first.height + second.height) / 2:
                pairs.append((first.id, second.id))
    return pairs


@st.composite
def systems(draw: st.DrawFn) -> tuple[tuple[Box, ...], tuple[Join, ...]]:
    """A connected graph with long bypasses, the way a standby source or a boots valve makes them."""
    count = draw(st.integers(2, 14))
    boxes = tuple(
        Box(id=f"b{n}", width=size[0], height=size[1])
        for n, size in enumerate(draw(st.lists(st.sampled_from(SIZES), min_size=count, max_size=count)))
    )
    joins = [Join(source=f"b{draw(st.integers(0, n - 1))}", target=f"b{n}") for n in range(1, count)]
    for _ in range(draw(st.integers(0, 6))):
        start, end = draw(st.integers(0, count - 1)), draw(st.integers(0, count - 1))
        if start != end:
            joins.append(Join(source=f"b{start}", target=f"b{end}"))
    return boxes, tuple(joins)


@given(systems())
def test_no_line_passes_through_a_box_and_no_boxes_overlap(system: tuple[tuple[Box, ...], tuple[Join, ...]]) -> None:
    boxes, joins = system
    placed = place(boxes, joins)
    assert points_inside(placed, boxes) == []
    assert overlapping(placed, boxes) == []


@given(systems())
def test_every_line_runs_from_the_border_of_one_end_to_the_border_of_the_other(
    system: tuple[tuple[Box, ...], tuple[Join, ...]],
) -> None:
    boxes, joins = system
    placed = place(boxes, joins)
    by_id = {box.id: box for box in boxes}
    for join, route in zip(joins, placed.routes, strict=True):
        for end, (x, y) in ((join.source, route[0]), (join.target, route[-1])):
            middle, box = placed.centres[end], by_id[end]
            across, down = abs(x - middle[0]) - box.width / 2, abs(y - middle[1]) - box.height / 2
            assert max(across, down) == pytest.approx(0.0, abs=0.5)


def test_a_bypass_past_two_parts_goes_round_them() -> None:
    boxes = tuple(Box(id=name, width=150, height=66) for name in "abcd")
    joins = tuple(Join(source=ends[0], target=ends[1]) for ends in ("ab", "bc", "cd", "ad"))
    assert points_inside(place(boxes, joins), boxes) == []


def test_the_check_for_lines_through_boxes_can_fail() -> None:
    boxes = tuple(Box(id=name, width=100, height=50) for name in "abc")
    straight = Placed(
        centres={"a": (50.0, 25.0), "b": (50.0, 125.0), "c": (50.0, 225.0)},
        routes=(((50.0, 50.0), (50.0, 200.0)),),
        width=100,
        height=250,
        crossings=0,
    )
    assert {box for _, box in points_inside(straight, boxes)} == {"b"}
    assert lines_through_boxes(straight, boxes) == ((0, "b"),)


@pytest.mark.parametrize("name", list(layouts.layouts()))
@pytest.mark.parametrize("narrow", [False, True])
def test_the_ready_made_layouts_are_drawn_without_crossings(name: str, narrow: bool) -> None:
    boxes, joins = graph_of(layouts.make(name), narrow=narrow)
    placed = place(boxes, joins)
    assert points_inside(placed, boxes) == []
    assert overlapping(placed, boxes) == []
    assert placed.crossings == 0


@pytest.mark.parametrize("name", list(layouts.layouts()))
def test_the_ready_made_layouts_stay_readable_on_a_telephone(name: str) -> None:
    """Letters are drawn at 12.5 units and must not fall under 11 pixels; a wide drawing keeps its width and scrolls."""
    drawn = draw(layouts.make(name))
    shown = PHONE_WIDTH if 'class="schematic"' in drawn.svg else WIDE_REM * 16.0
    assert 12.5 * shown / drawn.width > 11
    assert shown > PHONE_WIDTH or drawn.width <= WIDEST
