"""The guide to describing an aircraft: what it shows is what happens."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest

from vanewise.aircraft.fields import parse_field
from vanewise.aircraft.layouts import layouts, make
from vanewise.aircraft.reading import read_description
from vanewise.aircraft.wiring import Wiring
from vanewise.aircraft.writing import write_description
from vanewise.errors import InputError

GUIDE = Path(__file__).parents[2] / "docs" / "guides" / "describe-your-aircraft.md"
TEXT = GUIDE.read_text(encoding="utf-8")


def test_layout_it_begins_from_exists() -> None:
    assert re.search(r"vanewise new (\S+)", TEXT).group(1) in layouts()  # type: ignore[union-attr]


def test_numbers_it_shows_are_read() -> None:
    kinds = {"length": "line", "setting": "regulator", "drive_ratio": "pump"}
    for field, text in re.findall(r'^  (\w+) = "(.*)"$', TEXT, re.MULTILINE):
        if field == "senses":
            assert text in Wiring(make("pressure-one-pump")).ports
            continue
        assert not parse_field(kinds[field], field, text, "guide").is_assumed
    assert parse_field("line", "length", "0.95 m +/- 0.02 m (measured)", "guide").spread == 0.02


def test_keys_it_shows_are_known() -> None:
    base = write_description(make("suction-one-pump"))
    fitted = re.search(r"`(fitted = \{.*?\})`", TEXT).group(1)  # type: ignore[union-attr]
    also = re.search(r"`(also_fitted = \[.*?\])`", TEXT).group(1)  # type: ignore[union-attr]
    text = base.replace('id = "pump"', f'id = "pump"\n{fitted}', 1).replace("format = 1", f"format = 1\n{also}", 1)
    text = text.replace('"attitude.inlet"  #', '"unknown"  #', 1).replace(
        'low = "attitude.outlet"', 'low = "unknown"', 1
    )
    description = read_description(text)
    assert description.part("pump").fitted.tach_centihours == 294160
    assert description.also_fitted == ("standby source",)
    assert tomllib.loads(text)["gauge"]["high"] == "unknown"


def test_message_it_shows_is_the_message() -> None:
    base = write_description(make("suction-one-pump"))
    head, _, rest = base.partition('id = "firewall_hose"')
    with pytest.raises(InputError) as caught:
        read_description(head + 'id = "firewall_hose"' + rest.replace('bore = "5/8 in (assumed)"', 'bore = "5/8"', 1))
    assert re.sub(r"line \d+", "line N", str(caught.value)) in re.sub(r"line \d+", "line N", TEXT)
