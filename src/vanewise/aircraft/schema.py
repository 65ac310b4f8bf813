"""JSON Schema (draft 2020-12) of the description's file, made from the same tables that the reader uses.

The schema speaks of the data a TOML reader gives, with dates as texts. It says what can be said about one file key by
key; what only shows when keys are taken together (a gyro with no way to the pump) is for the checks.
"""

from __future__ import annotations

from typing import Any, Final, get_args

from vanewise.aircraft.description import AlsoFitted, Autopilot, Condition, Duty, Material, TurnInstrument
from vanewise.aircraft.fields import TABLE_KEYS
from vanewise.aircraft.kinds import KINDS, SECTIONS, FieldSpec, KindSpec, Surroundings
from vanewise.aircraft.reading import FORMAT
from vanewise.provenance import Standing
from vanewise.quantities import written

Schema = dict[str, Any]

_ID_PATTERN: Final = "^[a-z][a-z0-9_]{0,59}$"
_TEXT: Final[Schema] = {"type": "string", "maxLength": 500}


def file_schema() -> Schema:
    """The schema of a description file."""
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "Aircraft air system description",
        "description": "The parts of an air system, the lines between their ports, and where its gauge is connected.",
        "type": "object",
        "required": ["name", "duty", "parts", "lines"],
        "additionalProperties": False,
        "properties": {
            "format": {"const": FORMAT},
            "name": {**_TEXT, "minLength": 1},
            "duty": _words(Duty),
            "duty_confirmed": {"type": "boolean"},
            "turn_instrument": _words(TurnInstrument),
            "autopilot_takes_attitude": _words(Autopilot),
            "also_fitted": {"type": "array", "items": _words(AlsoFitted)},
            "layout": _TEXT,
            "valid_from": {"$ref": "#/$defs/date"},
            "invented": {"type": "boolean"},
            "engine": _object(_fields(SECTIONS["engine"])),
            "field": _object(_fields(SECTIONS["field"])),
            "meters": _object({**_meters(), "read_on": {"$ref": "#/$defs/date"}}),
            "gauge": _object({**_taps(unknown=True), **_fields(SECTIONS["gauge"])}),
            "lamp": _object({**_taps(unknown=False), **_fields(SECTIONS["lamp"])}, ["high", "low"]),
            "parts": {
                "type": "array",
                "items": {"oneOf": [_part(spec) for spec in KINDS.values() if spec.name != "line"]},
            },
            "lines": {"type": "array", "items": _line()},
        },
        "$defs": {
            "date": {"type": "string", "format": "date", "pattern": r"^\d{4}-\d{2}-\d{2}$"},
            "hours": {"type": "string", "pattern": r"^\d[\d,]*(\.\d{1,2})? ?h$", "examples": ["2983.9 h"]},
            "port": {"type": "string", "pattern": r"^[a-z][a-z0-9_]*\.[a-z][a-z0-9_]*$", "examples": ["pump.inlet"]},
            "fitted": _object(
                {
                    "on": {"$ref": "#/$defs/date"},
                    **_meters(),
                    "serial": _TEXT,
                    "condition": _words(Condition),
                }
            ),
            "number": _number(),
        },
    }


def _words(choice: Any) -> Schema:
    return {"enum": list(get_args(choice))}


def _object(properties: Schema, required: list[str] | None = None) -> Schema:
    schema: Schema = {"type": "object", "additionalProperties": False, "properties": properties}
    return {**schema, "required": required} if required else schema


def _meters() -> Schema:
    return {"tach": {"$ref": "#/$defs/hours"}, "hour_meter": {"$ref": "#/$defs/hours"}}


def _taps(unknown: bool) -> Schema:
    words = ["cabin", "unknown"] if unknown else ["cabin"]
    point: Schema = {"anyOf": [{"$ref": "#/$defs/port"}, {"enum": words}]}
    return {"high": point, "low": point}


def _number() -> Schema:
    """A quantity: a text with its unit, a plain number where it is a ratio, or a table with all there is to say."""
    table: Schema = dict.fromkeys(TABLE_KEYS, _TEXT)
    table |= {"value": {"type": ["string", "number"]}, "standing": _words(Standing)}
    return {"anyOf": [{"type": "string", "minLength": 1}, {"type": "number"}, _object(table, ["value"])]}


def _fields(specs: tuple[FieldSpec, ...]) -> Schema:
    return {spec.name: _field(spec) for spec in specs}


def _field(spec: FieldSpec) -> Schema:
    low, high = (written(bound, spec.dimension, spec.unit) for bound in (spec.low, spec.high))
    schema: Schema = {"$ref": "#/$defs/number", "description": f"{spec.meaning}; from {low} to {high}"}
    if spec.default is not None:
        schema["examples"] = [written(spec.default.number, spec.dimension, spec.unit)]
    return schema


def _part(spec: KindSpec) -> Schema:
    opening = {
        port.name: {"enum": [air for air in get_args(Surroundings) if air in port.may_open]}
        for port in spec.ports
        if port.may_open
    }
    properties: Schema = {
        "id": {"type": "string", "pattern": _ID_PATTERN},
        "kind": {"const": spec.name},
        "name": _TEXT,
        "open": _object(opening),
        "capped": {"type": "array", "items": {"type": "string"}},
        "fitted": {"$ref": "#/$defs/fitted"},
        **_fields(spec.fields),
    }
    if spec.extra_ports:
        properties["ports"] = {"type": "array", "items": {"type": "string", "pattern": _ID_PATTERN}}
    if spec.name == "regulator":
        properties["senses"] = {"$ref": "#/$defs/port"}
    return {**_object(properties, ["id", "kind"]), "description": spec.meaning}


def _line() -> Schema:
    end: Schema = {"anyOf": [{"$ref": "#/$defs/port"}, {"enum": list(get_args(Surroundings))}]}
    properties: Schema = {
        "id": {"type": "string", "pattern": _ID_PATTERN},
        "name": _TEXT,
        "from": end,
        "to": end,
        "material": _words(Material),
        "runs_in": _words(Surroundings),
        "cured": {"$ref": "#/$defs/date"},
        "fitted": {"$ref": "#/$defs/fitted"},
        **_fields(KINDS["line"].fields),
    }
    return _object(properties, ["id", "from", "to"])
