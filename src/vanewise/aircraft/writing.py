"""A description as a commented TOML text that reads back as exactly the same value."""

from __future__ import annotations

import datetime
import json
import textwrap
from collections.abc import Iterator, Mapping, Sequence
from typing import Final

from vanewise.aircraft.description import AircraftDescription, Fitted, Line, Part
from vanewise.aircraft.fields import table_from_value, write_field
from vanewise.aircraft.kinds import FieldSpec, fields_of
from vanewise.provenance import Value
from vanewise.quantities import centihours_text

_INTRODUCTION: Final = """\
An air system: its parts, the lines between their ports, and where the gauge is connected.

Numbers carry their unit: "0.95 m", "5/8 in", "5.0 inHg". Those marked (assumed) are examples, each with its source;
put your own number in their place and say how you know it: "0.95 m (measured)", "5.0 inHg (own manual: chapter 37)".
The aircraft's own manual comes first, always. Ports are written part.port; dates year-month-day; hours as the meter
shows them, "2983.9 h". A part or line taken out of this text is taken out of the system.
"""


def write_description(description: AircraftDescription) -> str:
    """The text. ``read_description`` of it gives the same description again, if the description passes the checks."""
    told: set[str] = set()
    blocks = [
        _comment(_INTRODUCTION),
        "\n".join(_top(description)),
        _section("engine", description.engine, told),
        _section("field", description.field, told, "the home field"),
        _meters(description),
        _gauge(description, told),
        _lamp(description, told),
        *(_part(part, told) for part in description.parts),
        *(_line(line, told) for line in description.lines),
    ]
    return "\n\n".join(block for block in blocks if block) + "\n"


def _comment(text: str) -> str:
    return "\n".join(f"# {line}".rstrip() for line in text.strip().split("\n"))


def _quoted(text: str) -> str:
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def _word(flag: bool) -> str:
    return "true" if flag else "false"


def _top(description: AircraftDescription) -> Iterator[str]:
    yield "format = 1"
    yield f"name = {_quoted(description.name)}"
    yield f'duty = "{description.duty}"  # "suction": the pump pulls through the gyros; "pressure": it blows into them'
    yield f"duty_confirmed = {_word(description.duty_confirmed)}  # true once somebody has looked which it is"
    yield f'turn_instrument = "{description.turn_instrument}"'
    yield f'autopilot_takes_attitude = "{description.autopilot_takes_attitude}"  # from the air-driven indicator'
    if description.also_fitted:
        yield f"also_fitted = {_list(description.also_fitted)}  # on the same air, not computed"
    if description.layout:
        yield f"layout = {_quoted(description.layout)}  # the ready-made one it began as"
    if description.valid_from is not None:
        yield f"valid_from = {description.valid_from}  # the aircraft stood like this from this day"
    if description.invented:
        yield "invented = true  # no real aircraft"


def _section(name: str, struct: object, told: set[str], heading: str = "") -> str:
    values = {spec.name: getattr(struct, spec.name) for spec in fields_of(name)}
    lines = [f"[{name}]" + (f"  # {heading}" if heading else "")]
    return "\n".join([*lines, *_numbers(name, values, told)])


def _meters(description: AircraftDescription) -> str:
    meters = description.meters
    lines = [*_hours("tach", meters.tach_centihours), *_hours("hour_meter", meters.hour_meter_centihours)]
    lines += [f"read_on = {meters.read_on}"] if meters.read_on else []
    return "\n".join(["[meters]  # as last read", *lines]) if lines else ""


def _hours(key: str, centihours: int | None) -> list[str]:
    return [] if centihours is None else [f'{key} = "{centihours_text(centihours)}"']


def _gauge(description: AircraftDescription, told: set[str]) -> str:
    gauge = description.gauge
    ends = [
        f'high = {_quoted(gauge.high)}  # where its high-pressure line ends: part.port, "cabin" or "unknown"',
        f"low = {_quoted(gauge.low)}",
    ]
    head, *rest = _section("gauge", gauge, told).split("\n")
    return "\n".join([head, *ends, *rest])


def _lamp(description: AircraftDescription, told: set[str]) -> str:
    lamp = description.lamp
    if lamp is None:
        return ""
    head, *rest = _section("lamp", lamp, told, "low-suction (low-pressure) lamp").split("\n")
    return "\n".join([head, f"high = {_quoted(lamp.high)}", f"low = {_quoted(lamp.low)}", *rest])


def _part(part: Part, told: set[str]) -> str:
    lines = ["[[parts]]", f"id = {_quoted(part.id)}", f"kind = {_quoted(part.kind)}"]
    lines += [f"name = {_quoted(part.name)}"] if part.name else []
    if part.open:
        opened = ", ".join(f"{port} = {_quoted(air)}" for port, air in part.open.items())
        lines.append(f"open = {{ {opened} }}  # ports that breathe without a line")
    lines += [f"capped = {_list(part.capped)}"] if part.capped else []
    lines += [f"ports = {_list(part.extra_ports)}"] if part.extra_ports else []
    lines += [f"senses = {_quoted(part.senses)}"] if part.senses else []
    lines += _fitted(part.fitted)
    return "\n".join([*lines, *_numbers(part.kind, part.values, told)])


def _list(words: Sequence[str]) -> str:
    return "[" + ", ".join(_quoted(word) for word in words) + "]"


def _line(line: Line, told: set[str]) -> str:
    lines = ["[[lines]]", f"id = {_quoted(line.id)}"]
    lines += [f"name = {_quoted(line.name)}"] if line.name else []
    lines += [f"from = {_quoted(line.start)}", f"to = {_quoted(line.end)}", f'material = "{line.material}"']
    lines += [f'runs_in = "{line.runs_in}"']
    lines += [f"cured = {line.cured}  # the hose's own date"] if line.cured else []
    lines += _fitted(line.fitted)
    return "\n".join([*lines, *_numbers("line", line.values, told)])


def _fitted(fitted: Fitted) -> list[str]:
    inside = [f"on = {_date(fitted.date)}"] if fitted.date else []
    inside += _hours("tach", fitted.tach_centihours) + _hours("hour_meter", fitted.hour_meter_centihours)
    inside += [f"serial = {_quoted(fitted.serial)}"] if fitted.serial else []
    inside += [f'condition = "{fitted.condition}"'] if fitted.condition != "unknown" else []
    return [f"fitted = {{ {', '.join(inside)} }}"] if inside else []


def _date(date: datetime.date) -> str:
    return date.isoformat()


def _numbers(kind: str, values: Mapping[str, Value], told: set[str]) -> Iterator[str]:
    """The numbers of one owner. Meaning and source are told at the first of each kind, the source of others shortly."""
    for spec in fields_of(kind):
        value = values.get(spec.name)
        if value is None:
            if f"{kind}.{spec.name}" not in told:
                told.add(f"{kind}.{spec.name}")
                yield f'# {spec.name} = "..."  # {spec.meaning}'
            continue
        text = write_field(kind, spec.name, value)
        key = f"{spec.name} = {_quoted(text) if text is not None else _table(kind, spec, value)}"
        first = f"{kind}.{spec.name}" not in told
        told.add(f"{kind}.{spec.name}")
        yield _with_remark(key, _remark(spec, value, first))


def _remark(spec: FieldSpec, value: Value, first: bool) -> str:
    source = str(value.source) if value.is_assumed else ""
    if not first:
        return source
    note = f" ({value.note})" if source and value.note else ""
    return spec.meaning + (f"; assumed: {source}{note}" if source else "")


def _with_remark(key: str, remark: str) -> str:
    """The remark after the key where it fits on a line, above it otherwise."""
    if not remark:
        return key
    if len(key) + len(remark) + 4 <= 120:
        return f"{key}  # {remark}"
    return "\n".join([*(f"# {line}" for line in textwrap.wrap(remark, 116)), key])


def _table(kind: str, spec: FieldSpec, value: Value) -> str:
    inside = ", ".join(f"{key} = {_quoted(text)}" for key, text in table_from_value(kind, spec.name, value).items())
    return f"{{ {inside} }}"
