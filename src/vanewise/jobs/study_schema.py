"""JSON Schema (draft 2020-12) of a study's file, made from the words its reader knows."""

from __future__ import annotations

from typing import Any, Final

from vanewise.quantities import UNITS
from vanewise.study.reading import DRAWS, MOST_SCENARIOS, MOST_VARIED, SPRING
from vanewise.study.types import FURTHEST_SD, TOLD

Schema = dict[str, Any]

_NUMBER: Final[Schema] = {"type": ["string", "number"]}
_MANY: Final[Schema] = {"type": "array", "items": _NUMBER, "minItems": 1}


def _draw() -> Schema:
    """Keys of a draw, in ``[at]`` and in ``[[vary]]`` alike."""
    return {
        "draw": {"enum": list(DRAWS), "description": "how it is drawn, anew for every system"},
        "low": {**_NUMBER, "description": "least; where left out of a normal draw, four spreads below the middle"},
        "high": {**_NUMBER, "description": "most; likewise"},
        "middle": {**_NUMBER, "description": "mean of a normal draw, median of a lognormal one"},
        "spread": {
            **_NUMBER,
            "description": "one standard deviation; lognormal: of the logarithm, a plain number. A draw goes no "
            f"further than {FURTHEST_SD:g} of them",
        },
        "values": {**_MANY, "description": 'what a "one of" draw chooses from'},
        "weights": {"type": "array", "items": {"type": "number"}, "description": "how often each; alike if left out"},
        "chance": {
            "type": "number",
            "exclusiveMinimum": 0,
            "maximum": 1,
            "description": "how often it is drawn at all",
        },
        "otherwise": {**_NUMBER, "description": "what it is the rest of the time; sound or as described if left out"},
    }


def _place(meaning: str, dimension: str, example: str) -> Schema:
    units = ", ".join(unit for unit in UNITS[dimension] if unit) or "kelvin, a plain number"
    drawn = {"type": "object", "additionalProperties": False, "properties": _draw(), "required": ["draw"]}
    return {
        "anyOf": [_NUMBER, _MANY, drawn],
        "description": f"{meaning}; in {units}. One value, a list of which every one is tried, or a draw",
        "examples": [example],
    }


def study_schema() -> Schema:
    """The schema of a study's file."""
    places = {
        "rpm": _place("engine speed; cruise if left out", "rpm", "1800 rpm"),
        "altitude": _place("pressure altitude; the home field if left out", "altitude", "5500 ft"),
        "temperature": _place("outside air; standard for the altitude if left out", "temperature", "6 C"),
        "warmer": {
            **_place("by how much it is warmer than that", "ratio", "10"),
            "description": "by how much it is warmer than that, a plain number of kelvin; negative: colder",
        },
    }
    vary = {
        "what": {"type": "string", "description": "PART.STATE, PART.FIELD or LINE.FIELD", "examples": ["pump.slip"]},
        "every": {"anyOf": [_NUMBER, _MANY], "description": "every one of these is tried with every system"},
        **_draw(),
    }
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "Study",
        "description": "Very many scenarios of one aircraft: what varies, how, and what is told of the outcome.",
        "type": "object",
        "additionalProperties": False,
        "required": ["aircraft"],
        "properties": {
            "title": {"type": "string"},
            "aircraft": {"type": "string", "minLength": 1, "description": "the description's file, seen from this one"},
            "seed": {"type": "integer", "minimum": 0, "description": "same seed, same systems; 0 if left out"},
            "draws": {
                "type": "integer",
                "minimum": 1,
                "maximum": MOST_SCENARIOS,
                "description": "systems drawn; each is tried at every combination of the lists",
            },
            "unknowns": {
                "type": "boolean",
                "description": "also draw every uncertain number of the description by its own spread, and the gauge's "
                "error, as vanewise sweep --band does",
            },
            "regulator": {
                "enum": list(SPRING),
                "description": "where numbers as built vary: is the spring set on each system until its gauge reads "
                "the setting (if left out), or as on the aircraft described",
            },
            "tell": {"type": "array", "items": {"enum": list(TOLD)}, "description": "outcomes to be told"},
            "by": {
                "type": "array",
                "items": {"type": "string"},
                "description": "lists by whose values outcomes are counted apart",
            },
            "needed": {
                "type": "string",
                "minLength": 1,
                "description": f"drop an instrument needs, by its manual; in {', '.join(UNITS['pressure'])}",
                "examples": ["4.5 inHg"],
            },
            "rows": {"type": "boolean", "description": "keep every scenario's numbers too, in rows.npz"},
            "at": {"type": "object", "additionalProperties": False, "properties": places},
            "vary": {
                "type": "array",
                "maxItems": MOST_VARIED,
                "items": {"type": "object", "additionalProperties": False, "properties": vary, "required": ["what"]},
            },
        },
    }
