"""Tags on both ends, connections as found against the map, and what a miswired system is as a description."""

from __future__ import annotations

import pytest

from vanewise.aircraft.layouts import make
from vanewise.work.hose_map import as_found, differences, hose_tags, tag_problems, unconfirmed

SUCTION = make("suction-one-pump")
TAGS = hose_tags(SUCTION)
HUNG = tuple((tag.number, end) for tag in TAGS for end in tag.ends if end != "engine bay")
MAPPED = {tag.line: tag.ends for tag in TAGS}


def test_every_line_has_one_number_and_says_bore_length_and_flow():
    assert [tag.number for tag in TAGS] == list(range(1, len(SUCTION.lines) + 1))
    hose = next(tag for tag in TAGS if tag.line == "firewall_hose")
    assert hose.bore == "5/8 in"
    assert hose.length == "37 in (0.95 m)"
    assert hose.flow == "from suction regulator, pump side to pump, inlet"


def test_tags_hung_right_have_no_problem():
    assert tag_problems(TAGS, HUNG) == ()


def test_a_missing_tag_a_double_port_and_a_foreign_number_are_named():
    missing = tag_problems(TAGS, HUNG[1:])
    assert "tag 1" in missing[0].where
    moved = tag_problems(TAGS, (*HUNG[1:], (1, HUNG[3][1])))
    assert any(problem.where == f"port {HUNG[3][1]}" for problem in moved)
    assert any("tag 99" in problem.where for problem in tag_problems(TAGS, (*HUNG, (99, "nowhere"))))


def test_a_line_that_ends_open_carries_one_tag():
    elbow = next(tag for tag in TAGS if tag.line == "outlet_elbow")
    assert sum(number == elbow.number for number, _ in HUNG) == 1


def test_connected_as_mapped_even_end_for_end_is_no_difference():
    turned = {line: ends[::-1] for line, ends in MAPPED.items()}
    assert differences(SUCTION, TAGS, MAPPED) == ()
    assert differences(SUCTION, TAGS, turned) == ()


@pytest.mark.parametrize("flip", [False, True])
def test_crossed_outlet_hoses_are_told_by_number_and_port(flip):
    found = dict(MAPPED)
    found["attitude_outlet_hose"] = ("attitude.outlet", "manifold.heading")
    found["heading_outlet_hose"] = (
        ("manifold.attitude", "heading.outlet")
        if flip
        else (
            "heading.outlet",
            "manifold.attitude",
        )
    )
    told = {difference.line: difference for difference in differences(SUCTION, TAGS, found)}
    assert set(told) == {"attitude_outlet_hose", "heading_outlet_hose"}
    assert "manifold, attitude now goes to manifold, heading" in told["attitude_outlet_hose"].words


def test_lines_nobody_confirmed_are_listed():
    partly = {line: ends for line, ends in MAPPED.items() if line != "firewall_hose"}
    assert unconfirmed(TAGS, partly) == ("firewall_hose",)


def test_as_found_gives_a_description_to_solve():
    swapped = as_found(SUCTION, {"firewall_hose": ("regulator.pump_side", "pump.outlet")})
    line = next(line for line in swapped.lines if line.id == "firewall_hose")
    assert (line.start, line.end) == ("regulator.pump_side", "pump.outlet")
    assert swapped.lines[0] == SUCTION.lines[0]
