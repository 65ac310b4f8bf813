"""The hose map: one number on both ends of every line, and what differs after reassembly.

Tags are written and hung before anything is loosened.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from typing import Final

import msgspec

from vanewise.aircraft.description import AircraftDescription, Line
from vanewise.contamination.directions import Ways, from_description
from vanewise.contamination.plumbing import SURROUNDINGS, plumbing
from vanewise.errors import Problem
from vanewise.quantities import M_PER_IN, shown
from vanewise.work.types import HoseTag, LineSeen

_BORES: Final = (
    (0.25, "1/4 in"),
    (0.375, "3/8 in"),
    (0.5, "1/2 in"),
    (0.625, "5/8 in"),
    (0.75, "3/4 in"),
    (1.0, "1 in"),
)


def bore_words(metres: float) -> str:
    """A bore as hoses are sold, within 2 %; else in inches and mm."""
    for inches, words in _BORES:
        if abs(metres / M_PER_IN / inches - 1.0) < 0.02:
            return words
    return f"{shown(metres, 'length')} ({shown(metres, 'length', True)})"


def length_words(metres: float) -> str:
    """A length of line in inches and metres."""
    return f"{metres / M_PER_IN:.0f} in ({metres:.2f} m)"


def port_words(description: AircraftDescription, port: str) -> str:
    """A port as people say it: ``pump, inlet``."""
    if port in SURROUNDINGS:
        return f"open to the {port}"
    part_id, name = port.rsplit(".", 1)
    return f"{description.part(part_id).label}, {name.replace('_', ' ')}"


def hose_tags(description: AircraftDescription, ways: Ways | None = None) -> tuple[HoseTag, ...]:
    """A tag for every line, numbered in the order of the description, which is the order of the flow in a layout."""
    known = from_description(description, plumbing(description)) if ways is None else ways
    return tuple(_tag(description, number, line, known) for number, line in enumerate(description.lines, start=1))


def _tag(description: AircraftDescription, number: int, line: Line, ways: Ways) -> HoseTag:
    ends = (line.start, line.end)
    way = ways.get(line.id, 0)
    first, last = ends if way >= 0 else ends[::-1]
    flow = (
        "either way, or none"
        if way == 0
        else f"from {port_words(description, first)} to {port_words(description, last)}"
    )
    return HoseTag(
        number=number,
        line=line.id,
        ends=ends,
        bore=bore_words(line.values["bore"].number),
        length=length_words(line.values["length"].number),
        flow=flow,
        note=f"{line.material}, {line.runs_in}",
    )


def tag_problems(tags: Sequence[HoseTag], hung: Sequence[tuple[int, str]]) -> tuple[Problem, ...]:
    """What is wrong with the tags as hung, each (number, port): every number twice, every port once.

    An end that is open to the surroundings needs no tag.
    """
    problems: list[Problem] = []
    seen = Counter(number for number, _ in hung)
    wanted = {tag.number: sum(end not in SURROUNDINGS for end in tag.ends) for tag in tags}
    problems += [
        Problem(
            where=f"tag {tag.number} ({tag.line.replace('_', ' ')})",
            expected="on both ends" if wanted[tag.number] == 2 else "on its one fitted end",
            found=f"{seen[tag.number]} hung",
            next_step="hang the missing tag before anything is loosened, or take the spare one off",
        )
        for tag in tags
        if seen[tag.number] != wanted[tag.number]
    ]
    problems += [
        Problem(
            where=f"port {port}",
            expected="one tag",
            found=f"tags {', '.join(str(number) for number, at in hung if at == port)}",
            next_step="follow each line to its other end and correct the tags",
        )
        for port, times in sorted(Counter(port for _, port in hung).items())
        if times > 1
    ]
    problems += [
        Problem(
            where=f"tag {number}",
            expected=f"a number from 1 to {len(tags)}",
            found=f"{number} at {port}",
            next_step="use the printed tags of this package",
        )
        for number, port in hung
        if number not in wanted
    ]
    return tuple(problems)


def line_problem(seen: LineSeen) -> Problem | None:
    """Why a line as found cannot stay: anything but sound, until another one is fitted."""
    if seen.replaced or seen.condition in ("not looked at", "sound"):
        return None
    return Problem(
        where=f"line {seen.line.replace('_', ' ')}",
        expected="a sound line, or another one in its place",
        found=seen.condition,
        next_step="replace it; low-pressure air hose to the aircraft's own specification",
    )


def seen_words(seen: LineSeen) -> str:
    """A line as found, in one sentence for paper; empty when nothing was written."""
    facts = [
        seen.condition if seen.condition != "not looked at" else "",
        seen.routing,
        f"clamps {seen.clamps}" if seen.clamps else "",
        seen.length,
        f"{seen.bore} bore" if seen.bore else "",
        f"marked {seen.marking}" if seen.marking else "",
        "replaced" if seen.replaced else "",
    ]
    return "; ".join(fact for fact in facts if fact)


class Difference(msgspec.Struct, frozen=True, kw_only=True):
    """A line that is not connected as mapped."""

    line: str
    number: int
    expected: tuple[str, str]
    found: tuple[str, str]
    words: str


def differences(
    description: AircraftDescription, tags: Sequence[HoseTag], connections: Mapping[str, tuple[str, str]]
) -> tuple[Difference, ...]:
    """Lines found connected elsewhere than mapped. A hose turned end for end joins the same ports: no difference."""
    found: list[Difference] = []
    for tag in tags:
        ends = connections.get(tag.line)
        if ends is None or set(ends) == set(tag.ends):
            continue
        moved = [
            f"{port_words(description, was)} now goes to {_named(description, now)}"
            for was, now in _pair(tag.ends, ends)
            if was != now
        ]
        found.append(
            Difference(
                line=tag.line,
                number=tag.number,
                expected=tag.ends,
                found=ends,
                words=f"tag {tag.number}: the end for {'; the end for '.join(moved)}",
            )
        )
    return tuple(found)


def _pair(mapped: tuple[str, str], found: tuple[str, str]) -> tuple[tuple[str, str], ...]:
    """Mapped and found ends, the common one against itself."""
    straight, crossed = zip(mapped, found, strict=True), zip(mapped, found[::-1], strict=True)
    if mapped[0] == found[1] or mapped[1] == found[0]:
        return tuple(crossed)
    return tuple(straight)


def _named(description: AircraftDescription, port: str) -> str:
    try:
        return port_words(description, port)
    except KeyError:
        return f'"{port}"'


def unconfirmed(tags: Sequence[HoseTag], connections: Mapping[str, tuple[str, str]]) -> tuple[str, ...]:
    """Lines whose connection nobody has confirmed yet."""
    return tuple(tag.line for tag in tags if tag.line not in connections)


def as_found(description: AircraftDescription, connections: Mapping[str, tuple[str, str]]) -> AircraftDescription:
    """The aircraft connected as found, so that what a miswired system would do can be solved."""
    lines = tuple(
        msgspec.structs.replace(line, start=connections[line.id][0], end=connections[line.id][1])
        if line.id in connections
        else line
        for line in description.lines
    )
    return msgspec.structs.replace(description, lines=lines)
