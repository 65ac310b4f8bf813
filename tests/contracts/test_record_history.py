"""Promises of the exported history: nothing is lost, anything changed shows, the schema says what is there."""

from __future__ import annotations

import csv
import io
import json

import jsonschema
import pytest

import vanewise.record
import vanewise.watch
from vanewise.errors import InputError
from vanewise.record.canon import canonical
from vanewise.record.chain import Link, chain
from vanewise.record.history import (
    correction_problems,
    entries,
    from_csv,
    from_json,
    goes_with_aircraft,
    history_schema,
    keeping_of,
    standing,
    to_csv,
    to_json,
)
from vanewise.record.jurisdiction import Duty, Jurisdiction, Keeping


def entry(kind: str, **content: object) -> str:
    return canonical(
        {
            "aircraft": "club",
            "at": "2025-03-01T10:00:00Z",
            "author": "A. Person",
            "content": content,
            "kind": kind,
            "schema": 1,
        }
    )


LINKS = chain(
    [
        entry("meters", tach="2983.9 h", date="2025-03-01"),
        entry("remark", words='attitude indicator leans, says "slow"; äöü, line\nbreak'),
        entry("remark", words="=1+1 is no formula here"),
        entry("record draft", record="d1", text="This is a draft."),
    ]
)


@pytest.mark.parametrize(
    ("write", "read"), [(lambda k: to_json("club", k, "1.0"), lambda t: from_json(t)[1]), (to_csv, from_csv)]
)
def test_what_is_written_reads_back_to_the_last_byte(write, read) -> None:  # type: ignore[no-untyped-def]
    assert read(write(LINKS)) == LINKS
    assert write(read(write(LINKS))) == write(LINKS)


def test_the_file_names_its_aircraft_and_fits_its_schema() -> None:
    text = to_json("club", LINKS, "1.0")
    jsonschema.Draft202012Validator.check_schema(history_schema())
    jsonschema.validate(json.loads(text), history_schema())
    assert from_json(text)[0] == "club"
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate({**json.loads(text), "version": 99}, history_schema())


def test_a_changed_file_is_refused_and_says_where() -> None:
    text = to_json("club", LINKS, "1.0")
    with pytest.raises(InputError, match="entry 1"):
        from_json(text.replace("2983.9 h", "2983.8 h"))
    with pytest.raises(InputError, match="entry 1"):
        from_csv(to_csv(LINKS).replace("2983.9 h", "2983.8 h"))


@pytest.mark.parametrize("text", ["", "{", "[]", '{"format":"other"}', '{"format":"vanewise history","version":2}'])
def test_another_file_is_refused_in_words(text: str) -> None:
    with pytest.raises(InputError) as caught:
        from_json(text)
    assert caught.value.problems[0].next_step


@pytest.mark.parametrize(
    "text", ["", "a,b\r\n1,2\r\n", "number,at,author,kind,summary,digest,prev_digest,text\r\n1,2\r\n"]
)
def test_another_table_is_refused_in_words(text: str) -> None:
    with pytest.raises(InputError):
        from_csv(text)


def test_no_cell_of_the_table_is_taken_for_a_formula() -> None:
    links = chain([canonical({**json.loads(LINKS[0].text), "author": "=HYPERLINK(1)", "kind": "@x"})])
    rows = list(csv.reader(io.StringIO(to_csv(links))))
    assert not any(cell[:1] in ("=", "+", "-", "@") for row in rows for cell in row)
    assert from_csv(to_csv(links)) == links


def test_a_correction_holds_and_what_it_corrects_stays_readable() -> None:
    first = chain([entry("reading", value="4.9 inHg")])
    wrong = first[0].digest
    second = chain([entry("correction", replaces=wrong, value="4.7 inHg")], wrong)
    third = chain([entry("correction", replaces=second[0].digest, value="4.6 inHg")], second[0].digest)
    history = entries((*first, *second, *third))
    (now,) = standing(history)
    assert now.entry.content["value"] == "4.9 inHg"
    assert now.corrected_by is not None and now.corrected_by.content["value"] == "4.6 inHg"
    assert correction_problems(history) == ()
    stray = entries(chain([entry("correction", replaces="0" * 64)]))
    assert correction_problems(stray)[0].where == "entry 1, correction"


def test_text_that_is_no_entry_is_refused() -> None:
    with pytest.raises(InputError, match="entry 1"):
        entries([Link(text='{"a":1}', prev_digest="", digest="")])


def test_what_goes_with_the_aircraft_is_the_packs_word() -> None:
    import datetime

    rules = Jurisdiction(
        name="test",
        as_of=datetime.date(2025, 1, 1),
        source="",
        duties=(Duty(field="date", words="a date"),),
        keeping=(
            Keeping(what="hours", how_long="for ever", with_aircraft=True, kinds=("meters",)),
            Keeping(what="work", how_long="one year", with_aircraft=False, kinds=("record draft",)),
        ),
    )
    kept = goes_with_aircraft(entries(LINKS), rules)
    assert [e.kind for e in kept] == ["meters"]
    assert keeping_of("record draft", rules) is not None and keeping_of("remark", rules) is None


@pytest.mark.parametrize("package", [vanewise.watch, vanewise.record])
def test_every_public_name_can_be_had(package) -> None:  # type: ignore[no-untyped-def]
    assert list(package.__all__) == sorted(package.__all__)
    for name in package.__all__:
        assert getattr(package, name) is not None
    with pytest.raises(AttributeError):
        _ = package.no_such_name
