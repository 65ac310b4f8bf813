"""Checks of the numbers of a description: known, there, of the right kind, and believed possible."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from vanewise.aircraft.description import AircraftDescription, Engine
from vanewise.aircraft.fields import out_of_bounds
from vanewise.aircraft.kinds import KINDS, SECTIONS, FieldSpec
from vanewise.aircraft.names import nearest
from vanewise.aircraft.places import place
from vanewise.errors import Problem
from vanewise.provenance import Value
from vanewise.quantities import shown


def number_problems(description: AircraftDescription) -> Iterator[Problem]:
    for index, part in enumerate(description.parts):
        if part.kind in KINDS and part.kind != "line":
            yield from _owner_problems("parts", index, part.id, part.kind, part.values)
    for index, line in enumerate(description.lines):
        yield from _owner_problems("lines", index, line.id, "line", line.values)
    yield from _section_problems(description)
    yield from _order_problems(description.engine)
    gauge = description.gauge
    if gauge.band_low and gauge.band_high and gauge.band_low.number >= gauge.band_high.number:
        yield Problem(
            where="gauge.band_high",
            expected=f"more than band_low, which is {shown(gauge.band_low.number, 'pressure')}",
            found=shown(gauge.band_high.number, "pressure"),
            next_step="read the band off the gauge's face again",
        )


def _owner_problems(group: str, index: int, owner_id: str, kind: str, values: Mapping[str, Value]) -> Iterator[Problem]:
    specs = {spec.name: spec for spec in KINDS[kind].fields}
    for name in values:
        if name not in specs:
            yield Problem(
                where=place(group, index, name, owner_id),
                expected=f"a field of {kind}: {', '.join(specs) or 'none'}",
                found=f'"{name}"',
                next_step=nearest(name, specs),
            )
    for name, spec in specs.items():
        where = place(group, index, name, owner_id)
        value = values.get(name)
        if value is not None:
            yield from _value_problems(spec, value, where)
        elif spec.default is not None:
            yield Problem(
                where=where, expected=spec.meaning, found="nothing", next_step="give the number, or the example"
            )


def _value_problems(spec: FieldSpec, value: Value, where: str) -> Iterator[Problem]:
    if value.dimension != spec.dimension:
        yield Problem(
            where=where,
            expected=f"{spec.meaning}, {_a(spec.dimension)}",
            found=_a(value.dimension),
            next_step="give the number in a unit of that kind",
        )
        return
    problem = out_of_bounds(spec, value.number, where)
    if problem is not None:
        yield problem
    if not value.spread >= 0.0:
        yield Problem(
            where=where,
            expected="a spread that is not negative",
            found=f"{value.spread}",
            next_step="give how far off the number may be, or leave it out",
        )


def _section_problems(description: AircraftDescription) -> Iterator[Problem]:
    for section, specs in SECTIONS.items():
        struct = getattr(description, section)
        for spec in specs if struct is not None else ():
            value = getattr(struct, spec.name)
            if isinstance(value, Value):
                yield from _value_problems(spec, value, f"{section}.{spec.name}")


def _order_problems(engine: Engine) -> Iterator[Problem]:
    for lower, higher in (("idle_rpm", "run_up_rpm"), ("run_up_rpm", "max_rpm"), ("cruise_rpm", "max_rpm")):
        low, high = getattr(engine, lower).number, getattr(engine, higher).number
        if low > high:
            yield Problem(
                where=f"engine.{higher}",
                expected=f"at least {lower}, which is {shown(low, 'rpm')}",
                found=shown(high, "rpm"),
                next_step="look at both engine speeds again",
            )


def _a(word: str) -> str:
    return f"an {word}" if word[:1] in "aeiou" else f"a {word}"
