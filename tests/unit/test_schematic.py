"""The drawing as a document: everything on it can be reached, is named, and survives black and white."""

from __future__ import annotations

import xml.etree.ElementTree as ET

import msgspec
import pytest

from vanewise.aircraft import layouts
from vanewise.schematic import LineMark, PartMark, draw, graph_of
from vanewise.schematic.graph import lay_out, lines_through_boxes

SVG = "{http://www.w3.org/2000/svg}"


def links(svg: str) -> dict[str, ET.Element]:
    return {element.attrib["href"]: element for element in ET.fromstring(svg).iter(f"{SVG}a")}


@pytest.mark.parametrize("name", list(layouts.layouts()))
def test_every_part_and_line_is_a_named_link(name: str) -> None:
    description = layouts.make(name)
    found = links(draw(description).svg)
    wanted = {f"#{owner.id}" for owner in (*description.parts, *description.lines)}
    assert set(found) == wanted
    for element in found.values():
        shown = [text.text for text in element.iter(f"{SVG}text") if text.text and not text.text.isdigit()]
        # What is seen is part of what is heard, so that a person can say the name they see.
        assert all(word in element.attrib["aria-label"] for text in shown for word in text.split())
        assert element.attrib["aria-label"]


def test_text_from_a_person_cannot_become_markup() -> None:
    description = layouts.make("suction-one-pump")
    pump = msgspec.structs.replace(description.part("pump"), name='<script>"&')
    parts = tuple(pump if part.id == "pump" else part for part in description.parts)
    svg = draw(msgspec.structs.replace(description, parts=parts, name="<b>")).svg
    ET.fromstring(svg)
    assert "<script" not in svg and "<b>" not in svg


def test_a_suspect_differs_by_word_and_pattern_and_not_by_colour_alone() -> None:
    description = layouts.make("suction-one-pump")
    svg = draw(
        description,
        parts={"regulator": PartMark(sign="suspect")},
        lines={"firewall_hose": LineMark(sign="suspect")},
    ).svg
    root = ET.fromstring(svg)
    words = [element.text for element in root.iter(f"{SVG}text")]
    assert "suspect" in words
    assert any("run-dots" in element.get("class", "") for element in root.iter(f"{SVG}path"))


def test_shielded_and_not_reached_differ_by_word_and_frame() -> None:
    """Only what somebody looked at is called shielded; both signs are read without colour, on the page and on paper."""
    from vanewise.schematic.printing import for_paper

    description = layouts.make("suction-one-pump")
    svg = draw(description, parts={"attitude": PartMark(sign="shielded"), "filter": PartMark(sign="not reached")}).svg
    for shown in (svg, for_paper(svg)):
        words = [element.text for element in ET.fromstring(shown).iter(f"{SVG}text")]
        assert words.count("shielded") == 1 and words.count("not reached") == 1
        assert 'class="part shielded"' in shown and 'class="part not-reached"' in shown
    style = for_paper(svg)
    assert ".part.shielded .frame" in style and ".part.not-reached .frame" in style


def test_the_arrow_turns_when_air_runs_against_the_written_way() -> None:
    description = layouts.make("suction-one-pump")

    def arrow(flow: float) -> str:
        root = ET.fromstring(draw(description, lines={"firewall_hose": LineMark(flow=flow)}).svg)
        joins = [join for join in graph_of(description)[1] if join.role != "tap"]
        index = [join.line for join in joins].index("firewall_hose")
        return list(root.iter(f"{SVG}polygon"))[index].attrib["points"]

    assert arrow(1e-3) != arrow(-1e-3)


def test_a_line_written_against_the_flow_is_drawn_with_it() -> None:
    description = layouts.make("suction-one-pump")
    turned = tuple(
        msgspec.structs.replace(line, start=line.end, end=line.start) if line.id == "firewall_hose" else line
        for line in description.lines
    )
    there = {join.line: join for join in graph_of(description)[1]}
    back = {join.line: join for join in graph_of(msgspec.structs.replace(description, lines=turned))[1]}
    assert (back["firewall_hose"].source, back["firewall_hose"].target) == (
        there["firewall_hose"].source,
        there["firewall_hose"].target,
    )
    assert back["firewall_hose"].reversed


@pytest.mark.parametrize(
    ("high", "low", "parts"),
    [
        ("attitude.inlet", "attitude.outlet", {"attitude"}),
        ("cabin", "manifold.regulator", {"manifold"}),
        ("unknown", "unknown", set()),
    ],
)
def test_the_gauge_is_drawn_at_the_points_it_is_connected_to(high: str, low: str, parts: set[str]) -> None:
    description = layouts.make("suction-one-pump")
    gauge = msgspec.structs.replace(description.gauge, high=high, low=low)
    _, joins = graph_of(msgspec.structs.replace(description, gauge=gauge, lamp=None))
    assert {join.target for join in joins if join.role == "tap"} == parts


@pytest.mark.parametrize(
    ("name", "senses", "part"),
    [
        ("pressure-one-pump", "inline_filter.clean", "inline_filter"),
        ("suction-one-pump", "attitude.outlet", "attitude"),
        ("pressure-one-pump", "regulator.gyro_side", ""),
        ("pressure-one-pump", "", ""),
    ],
)
def test_a_sense_line_is_drawn_dashed_and_named(name: str, senses: str, part: str) -> None:
    built = layouts.make(name)
    parts = tuple(msgspec.structs.replace(p, senses=senses) if p.kind == "regulator" else p for p in built.parts)
    description = msgspec.structs.replace(built, parts=parts)
    _, joins = graph_of(description)
    drawn = [join for join in joins if join.role == "tap" and "regulator" in (join.source, join.target)]
    assert [{join.source, join.target} for join in drawn] == ([{"regulator", part}] if part else [])
    boxes, every, placed = lay_out(description)
    assert lines_through_boxes(placed, boxes) == ()
    assert len(every) == len(placed.routes)
    titles = [title.text for title in ET.fromstring(draw(description).svg).iter(f"{SVG}title")]
    assert [senses.rpartition(".")[2] in (title or "") for title in titles] == [True] * bool(part)


@pytest.mark.parametrize("name", ["suction-one-pump", "suction-twin-pumps"])
def test_a_long_chance_is_wrapped_inside_its_box(name: str) -> None:
    description = layouts.make(name)
    pump = description.parts_of("pump")[0].id
    rows = [
        element.text
        for element in ET.fromstring(draw(description, parts={pump: PartMark(text=("more than 99 in 100",))}).svg).iter(
            f"{SVG}text"
        )
        if element.get("class") == "figure"
    ]
    assert rows[:2] == ["more than 99 in", "100"] or rows[:2] == ["more than 99", "in 100"]
    assert all(len(row) <= 17 for row in rows if row)
