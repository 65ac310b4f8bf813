"""Revised numbers, versions by day, and what differs between two of them."""

from __future__ import annotations

import datetime

import msgspec
import pytest

from vanewise.aircraft.description import canonical_json, digest, from_json
from vanewise.aircraft.fields import parse_field
from vanewise.aircraft.layouts import make
from vanewise.aircraft.versions import changes, in_force, revise
from vanewise.errors import InputError

BASE = make("suction-one-pump")
DAY = datetime.date


@pytest.mark.parametrize(
    ("path", "kind", "text"),
    [
        ("pump.drive_ratio", "pump", "1.5"),
        ("firewall_hose.length", "line", "1.1 m (measured)"),
        ("gauge.band_low", "gauge", "4.6 inHg"),
        ("engine.cruise_rpm", "engine", "2300 rpm"),
        ("field.latitude", "field", "45 N"),
        ("lamp.trip", "lamp", "3.0 inHg"),
    ],
)
def test_one_number_is_replaced_and_nothing_else(path: str, kind: str, text: str) -> None:
    value = parse_field(kind, path.split(".")[1], text, path)
    revised = revise(BASE, path, value)
    before, after = dict(BASE.all_values()), dict(revised.all_values())
    assert after.pop(path) == value
    before.pop(path, None)
    assert before == after
    assert digest(revised) != digest(BASE)


@pytest.mark.parametrize("path", ["pmp.drive_ratio", "pump.drive_ration", "pump", "lamp.trap", "pump.slip"])
def test_a_path_that_does_not_exist_is_refused(path: str) -> None:
    with pytest.raises(InputError) as caught:
        revise(BASE, path, parse_field("pump", "drive_ratio", "1.4", "x"))
    assert caught.value.problems[0].where == path


def test_a_value_of_another_dimension_is_refused() -> None:
    with pytest.raises(InputError, match="a length for drive_ratio"):
        revise(BASE, "pump.drive_ratio", parse_field("line", "length", "1 m", "x"))


def test_versions_hold_from_their_day() -> None:
    first = msgspec.structs.replace(BASE, name="as bought")
    second = revise(
        first, "pump.drive_ratio", parse_field("pump", "drive_ratio", "1.5", "x"), valid_from=DAY(2024, 3, 1)
    )
    third = msgspec.structs.replace(second, name="corrected")
    versions = [second, first, third]
    assert in_force(versions, DAY(2020, 1, 1)) is first
    assert in_force(versions, DAY(2024, 3, 1)) is third
    with pytest.raises(InputError):
        in_force([second], DAY(2024, 2, 29))


def test_changes_are_told_in_words() -> None:
    value = parse_field("pump", "drive_ratio", "1.5", "x")
    after = revise(BASE, "pump.drive_ratio", value)
    after = msgspec.structs.replace(
        after,
        lines=after.lines[:-1],
        gauge=msgspec.structs.replace(after.gauge, low="cabin"),
        duty_confirmed=True,
    )
    assert changes(BASE, BASE) == ()
    assert changes(BASE, after) == (
        "line outlet_elbow taken out",
        "pump.drive_ratio: 1.30 (from memory) becomes 1.50 (as entered)",
        "duty_confirmed: False becomes True",
        "gauge: attitude.inlet to attitude.outlet becomes attitude.inlet to cabin",
    )


def test_canonical_text_reads_back_and_names_its_description() -> None:
    text = canonical_json(BASE)
    assert from_json(text) == BASE
    assert canonical_json(from_json(text)) == text
    assert len(digest(BASE)) == 64


def test_digest_does_not_depend_on_order_of_keys_or_on_whole_numbers() -> None:
    pump = BASE.part("pump")
    turned = msgspec.structs.replace(pump, values=dict(reversed(pump.values.items())))
    whole = {
        k: msgspec.structs.replace(v, number=int(v.number)) if v.number == 2.0 else v for k, v in turned.values.items()
    }
    turned = msgspec.structs.replace(turned, values=whole)
    other = msgspec.structs.replace(BASE, parts=tuple(turned if p.id == "pump" else p for p in BASE.parts))
    assert digest(other) == digest(BASE)


def test_torn_text_is_refused() -> None:
    with pytest.raises(InputError):
        from_json(canonical_json(BASE)[:-1])
    with pytest.raises(InputError):
        from_json("{}")
