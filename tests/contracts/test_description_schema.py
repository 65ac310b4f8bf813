"""The published JSON Schema accepts what the reader accepts, and refuses slips it can see."""

from __future__ import annotations

import datetime
import tomllib
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from vanewise.aircraft.layouts import layouts, make
from vanewise.aircraft.reading import read_description
from vanewise.aircraft.schema import file_schema
from vanewise.aircraft.writing import write_description
from vanewise.errors import InputError

DEMO = Path(__file__).parents[2] / "src" / "vanewise" / "demo"
FILES = ("d1_club_aircraft.toml", "d2_pressure.toml", "d3_case_leak.toml")
SCHEMA = file_schema()


def as_json(item: Any) -> Any:
    """The data of a TOML text as JSON holds it: dates as texts."""
    if isinstance(item, dict):
        return {key: as_json(value) for key, value in item.items()}
    if isinstance(item, list):
        return [as_json(value) for value in item]
    return item.isoformat() if isinstance(item, datetime.date) else item


def test_it_is_a_schema() -> None:
    jsonschema.Draft202012Validator.check_schema(SCHEMA)


@pytest.mark.parametrize("name", layouts())
def test_written_layouts_are_valid(name: str) -> None:
    jsonschema.validate(as_json(tomllib.loads(write_description(make(name)))), SCHEMA)


@pytest.mark.parametrize("name", FILES)
def test_described_aircraft_are_valid_and_read(name: str) -> None:
    text = (DEMO / name).read_text(encoding="utf-8")
    jsonschema.validate(as_json(tomllib.loads(text)), SCHEMA)
    description = read_description(text, name)
    assert description.invented
    assert read_description(write_description(description)) == description


SLIPS = [
    ('kind = "pump"', 'kind = "pmup"'),
    ('duty = "suction"', 'duty = "sucking"'),
    ('id = "pump"', 'id = "Pump"'),
    ('displacement = "', 'displacment = "'),
    ('from = "filter.clean"', 'from = "filter"'),
    ('open = { air = "cabin" }', 'open = { air = "wing" }'),
    ("[gauge]", '[meters]\ntach = "2983"\n\n[gauge]'),
    ('material = "hose"', 'material = "rubber"'),
]


@pytest.mark.parametrize(("old", "new"), SLIPS)
def test_schema_and_reader_refuse_the_same_slips(old: str, new: str) -> None:
    text = write_description(make("suction-one-pump"))
    assert old in text
    text = text.replace(old, new, 1)
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(as_json(tomllib.loads(text)), SCHEMA)
    with pytest.raises(InputError):
        read_description(text)
