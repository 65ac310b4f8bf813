"""JSON Schemas (draft 2020-12) of the files people hand in: evidence, ground-run readings, looks at the wear port.

They are made from the words the readers know, and speak of the data a TOML reader gives, with dates as texts. The
readers decide; a schema helps an editor to complete words and to underline a slip. The description's own schema is in
:mod:`vanewise.aircraft.schema`.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from types import MappingProxyType
from typing import Any, Final, get_args, get_type_hints

from vanewise.aircraft.schema import file_schema
from vanewise.diagnosis.vocabulary import CHECKS, EVENTS, SYMPTOMS
from vanewise.groundrun.verdict import KNOWN
from vanewise.jobs.study_schema import study_schema
from vanewise.quantities import UNITS
from vanewise.watch.types import WearReading
from vanewise.watch.wear_priors import DEFAULT_PRIORS, Duty, EventKind

Schema = dict[str, Any]

_TEXT: Final[Schema] = {"type": "string"}
_YES_NO: Final[Schema] = {"type": "boolean"}
_DATE: Final[Schema] = {"type": "string", "format": "date"}
_NUMBER: Final[Schema] = {"type": ["string", "number"]}
_NAME: Final[Schema] = {"type": "string", "description": "a name of its own; numbered when left out"}
_WHO: Final[Schema] = {"type": "string", "description": "whose remark or reading it is"}
_FLIGHT: Final[Schema] = {"type": "string", "description": "remarks of one person about one flight hang together"}
_SOUND: Final[Schema] = {"type": "boolean", "description": "true for an earlier one, taken while all was well"}
_STATES: Final[Schema] = {
    "type": "object",
    "description": 'test states, like { "regulator.covered" = 1 } or { "heading.capped" = 1 }',
}


def schema_of(what: str) -> Schema:
    """The schema of one of :data:`FILES`."""
    return FILES[what]()


def _quantity(dimension: str, meaning: str, example: str) -> Schema:
    """A number written with its unit."""
    units = ", ".join(unit for unit in UNITS[dimension] if unit)
    return {"type": "string", "minLength": 1, "description": f"{meaning}; in {units}", "examples": [example]}


def _file(title: str, meaning: str, properties: Schema, required: tuple[str, ...] = ()) -> Schema:
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": title,
        "description": meaning,
        **_object(properties, required),
    }


def _object(properties: Schema, required: tuple[str, ...] = ()) -> Schema:
    schema: Schema = {"type": "object", "additionalProperties": False, "properties": properties}
    return {**schema, "required": list(required)} if required else schema


def _list(properties: Schema, required: tuple[str, ...]) -> Schema:
    return {"type": "array", "items": _object(properties, required)}


def _words(known: Mapping[str, Any], meaning: str) -> Schema:
    return {"enum": list(known), "description": meaning}


def _evidence() -> Schema:
    altitude = _quantity("altitude", "pressure altitude", "5500 ft")
    temperature = _quantity("temperature", "outside air", "6 C")
    rpm = _quantity("rpm", "engine speed", "1200 rpm")
    reading = _quantity("pressure", "what the gauge showed", "4.1 inHg")
    taken: Schema = {
        "id": _NAME,
        "instrument": {"type": "string", "description": "which gauge; the panel gauge when left out"},
        "high": {"type": "string", "description": "port or cabin it was connected to, where not the panel gauge's own"},
        "low": {"type": "string", "description": "its other end"},
        "altitude": altitude,
        "temperature": temperature,
        "direction": {"enum": ["rising", "falling", "steady", "unknown"], "description": "how the speed was come by"},
        "warm": {
            "type": "boolean",
            "description": "was the engine warm; beside a cold reading, a warm one is of when ice has gone",
        },
        "under": _STATES,
        "sd": _quantity("pressure", "how far off it may be, one standard deviation", "0.1 inHg"),
        "when": _DATE,
        "who": _WHO,
        "flight": _FLIGHT,
        "sound": _SOUND,
        "sister": {"type": "string", "description": "name of a sister aircraft of the same layout it was read on"},
    }
    sweep: Schema = {
        "rpm": {
            "type": "array",
            "items": {"type": ["number", "string"]},
            "minItems": 1,
            "description": "engine speeds",
        },
        "reading": {"type": "array", "items": {"type": ["number", "string"]}, "minItems": 1, "description": "one each"},
        "unit": {
            "type": "string",
            "description": f"of the readings, inHg when left out; {', '.join(UNITS['pressure'])}",
        },
    }
    lamp: Schema = {
        "id": _NAME,
        "rpm": _quantity("rpm", "engine speed at which it changed", "1070 rpm"),
        "direction": {"enum": ["rising", "falling"], "description": "rising: it went out; falling: it came on"},
        "altitude": altitude,
        "sd": _quantity("rpm", "how far off it may be, one standard deviation", "50 rpm"),
        "when": _DATE,
        "who": _WHO,
        "sound": _SOUND,
    }
    remark: Schema = {
        "id": _NAME,
        "symptom": _words(SYMPTOMS, "what was noticed"),
        "present": {"type": "boolean", "description": "false: looked for, and absent. Not mentioned is left out"},
        "about": {"type": "string", "description": "part it is about, by id"},
        "degree": {"type": "number", "description": "how much, as a plain number"},
        "manner": {"type": "string", "description": "which way it showed, one of the symptom's own words"},
        "when": _DATE,
        "who": _WHO,
        "flight": _FLIGHT,
        "minutes_after": _quantity("minutes", "after a sudden stop; gyros coast", "4 min"),
        "note": _TEXT,
    }
    event: Schema = {
        "id": _NAME,
        "kind": _words(EVENTS, "what was done, or happened"),
        "about": {"type": "string", "description": "part it was done to, by id; left out where nobody knows which"},
        "when": _DATE,
        "hours_ago": _quantity("hours", "flown since", "27.0 h"),
        "note": _TEXT,
    }
    return _file(
        "Evidence",
        "What is known about one report: readings, remarks, events, checks done.",
        {
            "title": _TEXT,
            "conditions": _object({"altitude": altitude, "temperature": temperature}),
            "readings": _list({**taken, "reading": reading, "rpm": rpm}, ("reading", "rpm")),
            "sweeps": _list({**taken, **sweep}, ("reading", "rpm")),
            "lamp": _list(lamp, ("rpm",)),
            "remarks": _list(remark, ("symptom",)),
            "events": _list(event, ("kind",)),
            "checks": _list(_check(rpm, altitude, temperature), ("check",)),
            "notes": {
                "anyOf": [_TEXT, {"type": "array", "items": _TEXT}],
                "description": "any words; kept as they are",
            },
        },
    )


def _check(rpm: Schema, altitude: Schema, temperature: Schema) -> Schema:
    measured: Schema = {"type": "string", "minLength": 1}
    return {
        "id": _NAME,
        "check": _words(CHECKS, "which check"),
        "outcome": {"type": "string", "description": "one of that check's outcomes"},
        "value": {**measured, "description": "what was measured, with its unit", "examples": ["3.8 cfm", "1.0 inHg"]},
        "before": _quantity("pressure", "cover test: reading before", "2.4 inHg"),
        "covered": _quantity("pressure", "cover test: reading while the intake is covered", "3.7 inHg"),
        "place": {"type": "string", "description": "instrument, part or port it was done at"},
        "rpm": rpm,
        "altitude": altitude,
        "temperature": temperature,
        "grade": {"enum": [0, 1, 2, 3], "description": "3 direct sight; 2 both ways; 1 pattern; 0 report only"},
        "under": _STATES,
        "suction": _quantity("pressure", "of a workshop source", "5.0 inHg"),
        "sd": {**measured, "description": "how far off the value may be, one standard deviation"},
        "both_ways": {"type": "boolean", "description": "taken away and it went, put back and it came back"},
        "when": _DATE,
        "who": _WHO,
        "note": _TEXT,
    }


def _ground_run() -> Schema:
    sweep: Schema = {
        "type": "object",
        "propertyNames": {"pattern": r"^\d+(\.\d+)?$"},
        "additionalProperties": _quantity("pressure", "what the gauge showed at that engine speed", "4.1 inHg"),
    }
    altitude = _quantity("altitude", "pressure altitude; the home field when left out", "400 ft")
    temperature = _quantity("temperature", "outside air; standard when left out", "6 C")
    seen: Schema = {
        "what": {"enum": [word for word in KNOWN if word != "gauge"]},
        "value": {
            "type": "string",
            "minLength": 1,
            "description": "the figure with its unit",
            "examples": ["1070 rpm"],
        },
        "outcome": {"type": "string", "description": 'what was seen, beginning with "pass" or "fail"'},
        "rpm": _quantity("rpm", "engine speed", "1200 rpm"),
        "minutes": _quantity("minutes", "how long a drift was watched; 15 min when left out", "15 min"),
        "latitude": _quantity("angle", "where a drift was watched, if not at the home field; south negative", "48 deg"),
        "eastward": {
            "type": "string",
            "description": "average speed towards the east while a drift was watched, in kt; west negative",
            "examples": ["12 kt"],
        },
    }
    return _file(
        "Ground-run readings",
        "What was read and seen in one ground run, and the aircraft's own sound sweep.",
        {
            "title": _TEXT,
            "altitude": altitude,
            "temperature": temperature,
            "changed": {"type": "array", "items": _TEXT, "description": "parts that are others since the baseline"},
            "gauge_compared_within": _quantity("pressure", "to a calibrated gauge, before the run", "0.1 inHg"),
            "rising": sweep,
            "falling": sweep,
            "seen": _list(seen, ("what",)),
            "baseline": _object(
                {
                    "date": _DATE,
                    "altitude": altitude,
                    "temperature": temperature,
                    "lamp_out": _quantity("rpm", "where the lamp went out then, rising", "1070 rpm"),
                    "rising": sweep,
                }
            ),
        },
    )


def _wear() -> Schema:
    hours = _quantity("hours", "since the pump was new", "300.0 h")
    look: Schema = {
        "hours": hours,
        "kind": {"enum": list(get_args(get_type_hints(WearReading)["kind"]))},
        "length": _quantity("length", "of the shortest vane", "13.2 mm"),
        "date": _DATE,
    }
    event: Schema = {"hours": hours, "kind": {"enum": list(get_args(EventKind))}, "note": _TEXT}

    def assumption(note: str) -> Schema:
        return {
            **_object({"number": _NUMBER, "spread": _NUMBER, "source": _TEXT}, ("number", "source")),
            "description": note,
        }

    return _file(
        "Looks at the wear port",
        "Looks at one pump's vanes, and what bears on how fast they wear.",
        {
            "pump": {"type": "string", "description": "which pump"},
            "duty": {"enum": list(get_args(Duty))},
            "hours_now": _quantity("hours", "of this pump since new", "512.6 h"),
            "hours_to_next_annual": _quantity("hours", "likely to be flown until then", "90 h"),
            "next_flight": _quantity("hours", "length of the next flight", "2 h"),
            "entry_hours": _quantity("hours", "of the pump when it came to be watched", "0.0 h"),
            "running": {"type": "boolean", "description": "false once it has stopped or been taken off"},
            "speed_ratio": {"type": ["string", "number"], "description": "pump turns for one engine turn"},
            "setting": _quantity("pressure", "of the regulator", "5.0 inHg"),
            "usual_altitude": _quantity("length", "most flying happens at", "3000 ft"),
            "new_length": _quantity("length", "of a vane, from the pump's own manual", "15.0 mm"),
            "minimum_length": _quantity("length", "of a vane, from the pump's own manual", "12.0 mm"),
            "length_sd": _quantity("length", "how far off a length may be, one standard deviation", "0.05 mm"),
            "seen_means": {"enum": ["good", "bad", "not said"], "description": "the edge seen at this pump's port"},
            "polarity_confirmed_by": {"type": "string", "description": "who confirmed that, from which manual"},
            "port_wear_fraction": {
                "type": ["string", "number"],
                "description": "share of the allowance worn when the edge comes to the port, from the manual",
            },
            "looks": _list(look, ("hours", "kind")),
            "events": _list(event, ("hours", "kind")),
            "assumptions": {
                "type": "object",
                "description": "own numbers in place of the starting ones, by name",
                "properties": {name: assumption(value.note) for name, value in DEFAULT_PRIORS.values()},
                "additionalProperties": False,
            },
        },
        ("hours_now", "duty"),
    )


FILES: Final[Mapping[str, Callable[[], Schema]]] = MappingProxyType(
    {"aircraft": file_schema, "evidence": _evidence, "ground-run": _ground_run, "wear": _wear, "study": study_schema}
)
"""Kind of file -> the function that makes its schema."""
