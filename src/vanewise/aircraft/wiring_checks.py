"""Checks of names and ends: every part and line known and named once, every port joined to exactly one thing."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from vanewise.aircraft.description import AircraftDescription, Line, Part
from vanewise.aircraft.kinds import KINDS, PortSpec
from vanewise.aircraft.names import RESERVED, SURROUNDINGS, is_id, nearest
from vanewise.aircraft.places import place
from vanewise.aircraft.wiring import AIR, Wiring, port_names
from vanewise.errors import Problem


def name_problems(description: AircraftDescription) -> Iterator[Problem]:
    """Ids that cannot be used, stand twice, or belong to a kind that is not known."""
    owners = [("parts", index, part.id) for index, part in enumerate(description.parts)]
    owners += [("lines", index, line.id) for index, line in enumerate(description.lines)]
    counts = Counter(owner_id for _, _, owner_id in owners)
    told: set[str] = set()
    for group, index, owner_id in owners:
        where = place(group, index, "id", owner_id)
        if not is_id(owner_id) or owner_id in RESERVED:
            taken = f", other than {', '.join(sorted(RESERVED))}" if owner_id in RESERVED else ""
            yield Problem(
                where=where,
                expected=f"a name of small letters, digits and underscores that begins with a letter{taken}",
                found=f'"{owner_id}"',
                next_step="give it another name, also where a line or the gauge points to it",
            )
        if counts[owner_id] > 1 and owner_id not in told:
            told.add(owner_id)
            others = [place(g, i) for g, i, other in owners if other == owner_id]
            yield Problem(
                where=where,
                expected="every part and line to have a name of its own",
                found=f'"{owner_id}" at {", ".join(others)}',
                next_step="rename all but one, then look again at what points to them",
            )
    for index, part in enumerate(description.parts):
        if part.kind not in KINDS or part.kind == "line":
            yield _unknown_kind(index, part)


def _unknown_kind(index: int, part: Part) -> Problem:
    known = [kind for kind in KINDS if kind != "line"]
    return Problem(
        where=place("parts", index, "kind", part.id),
        expected=f"one of {', '.join(known)}",
        found=f'"{part.kind}"',
        next_step=nearest(part.kind, known),
    )


def wiring_problems(description: AircraftDescription, wiring: Wiring) -> Iterator[Problem]:
    """Ends that lead nowhere, ports joined to nothing or to two things."""
    for index, line in enumerate(description.lines):
        yield from _line_problems(index, line, wiring)
    lines_at: dict[str, list[str]] = {}
    for line in description.lines:
        for end in (line.start, line.end):
            lines_at.setdefault(end, []).append(line.id)
    for index, part in enumerate(description.parts):
        if wiring.parts.get(part.id) is part:
            yield from _part_problems(index, part, lines_at)


def _line_problems(index: int, line: Line, wiring: Wiring) -> Iterator[Problem]:
    for key, end in (("from", line.start), ("to", line.end)):
        problem = unknown_port(end, place("lines", index, key, line.id), wiring, tuple(AIR))
        if problem is not None:
            yield problem
    if line.start == line.end or (line.start in AIR and line.end in AIR):
        found = f'"{line.start}" at both ends' if line.start == line.end else f'"{line.start}" and "{line.end}"'
        yield Problem(
            where=place("lines", index, "to", line.id),
            expected="a line between two different ports",
            found=found,
            next_step="follow the line by hand and name the port at its other end",
        )
    elif line.start in wiring.ports and line.start.split(".")[0] == line.end.split(".")[0]:
        yield Problem(
            where=place("lines", index, "to", line.id),
            expected="a line from one part to another",
            found=f'"{line.start}" and "{line.end}", both on the same part',
            next_step="follow the line by hand and name the port at its other end",
        )


def unknown_port(end: str, where: str, wiring: Wiring, others: tuple[str, ...]) -> Problem | None:
    """The problem with a ``part.port`` that does not exist, or None. ``others`` are words allowed instead."""
    part_id, _, port = end.partition(".")
    if end in wiring.ports or end in others or part_id in wiring.unreadable:
        return None
    part = wiring.parts.get(part_id)
    if part is None:
        text = f"a part and its port, like {min(wiring.ports, default='pump.inlet')}"
        also = f", or {' or '.join(sorted(others))}" if others else ""
        next_step = nearest(part_id, [*wiring.parts, *others], f"the parts are {', '.join(wiring.parts) or 'none'}")
        return Problem(where=where, expected=text + also, found=f'"{end}"', next_step=next_step)
    ports = port_names(part, KINDS[part.kind])
    return Problem(
        where=where,
        expected=f"a port of {part_id}: {', '.join(ports) or 'it has none'}",
        found=f'"{end}"',
        next_step=nearest(port, ports),
    )


def _part_problems(index: int, part: Part, lines_at: dict[str, list[str]]) -> Iterator[Problem]:
    spec = KINDS[part.kind]
    yield from _extra_port_problems(index, part)
    specs = {port.name: port for port in spec.ports}
    if spec.extra_ports:
        specs |= {name: PortSpec(name, "port", may_cap=True) for name in part.extra_ports}
    for group, named in (("open", part.open), ("capped", part.capped)):
        for port in named:
            if port not in specs:
                yield Problem(
                    where=place("parts", index, group, part.id),
                    expected=f"a port of {part.id}: {', '.join(specs) or 'it has none'}",
                    found=f'"{port}"',
                    next_step=nearest(port, specs),
                )
    for port_spec in specs.values():
        yield from _port_problems(index, part, port_spec, lines_at.get(f"{part.id}.{port_spec.name}", []))


def _extra_port_problems(index: int, part: Part) -> Iterator[Problem]:
    where = place("parts", index, "ports", part.id)
    if part.extra_ports and not KINDS[part.kind].extra_ports:
        yield Problem(
            where=where,
            expected=f"no list of ports: those of kind {part.kind} are fixed",
            found=", ".join(f'"{port}"' for port in part.extra_ports),
            next_step="take the list out, or make it a manifold",
        )
    for port, count in Counter(part.extra_ports).items():
        if count > 1 or not is_id(port):
            yield Problem(
                where=where,
                expected="each port named once, with small letters, digits and underscores",
                found=f'"{port}"' + (f" {count} times" if count > 1 else ""),
                next_step="give each port a name of its own",
            )


def _port_problems(index: int, part: Part, port: PortSpec, lines: list[str]) -> Iterator[Problem]:
    where = place("parts", index, port.name, part.id)
    label = f"{part.label}, {port.name} port ({port.meaning})"
    opened, capped = port.name in part.open, port.name in part.capped
    if opened and part.open[port.name] not in port.may_open:
        allowed = " or ".join(port.may_open)
        yield Problem(
            where=where,
            expected=f"{label} to be open to the {allowed}" if allowed else f"{label} to have a line",
            found=f'open to "{part.open[port.name]}"',
            next_step="join a line to it" + (f", or open it to the {allowed}" if allowed else ""),
        )
    if capped and not port.may_cap:
        yield Problem(
            where=where, expected=f"{label} in use", found="capped", next_step="join a line to it, or take the part out"
        )
    if len(lines) > 1:
        yield Problem(
            where=where,
            expected="one line on one port",
            found=f"{len(lines)} lines: {', '.join(lines)}",
            next_step="put a manifold (a tee) where lines meet, or name the right port",
        )
    uses = [text for text, used in (("a line", bool(lines)), ("open", opened), ("capped", capped)) if used]
    if len(uses) > 1:
        yield Problem(
            where=where,
            expected="a line, or open, or capped, and only one of these",
            found=" and ".join(uses),
            next_step=f"look at the {port.name} port of the {part.label} and keep what is there",
        )
    if not uses:
        yield Problem(
            where=where,
            expected=f"{label} to be joined to a line" + _or_else(port),
            found="nothing joined",
            next_step="name the line that comes here" + (", or cap the port" if port.may_cap else ""),
        )


def _or_else(port: PortSpec) -> str:
    others = [f"open to the {name}" for name in SURROUNDINGS if name in port.may_open]
    others += ["capped"] if port.may_cap else []
    return f", or {' or '.join(others)}" if others else ""
