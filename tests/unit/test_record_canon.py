"""Canonical text and chains, by example."""

from __future__ import annotations

import hashlib

import pytest

from vanewise.errors import InputError, NoAnswer
from vanewise.record.canon import canonical, from_canonical
from vanewise.record.chain import FIRST, Link, chain, entry_digest, verify
from vanewise.record.upcast import Upcaster


def test_text_is_json_with_sorted_keys_and_no_spaces() -> None:
    value = {"reading": "4.7 inHg", "at": "2025-03-01", "count": 4, "tags": ["a", None, True]}
    assert canonical(value) == '{"at":"2025-03-01","count":4,"reading":"4.7 inHg","tags":["a",null,true]}'


@pytest.mark.parametrize(
    ("value", "where", "found"),
    [
        ({"gauge": {"reading": 4.7}}, "gauge.reading", "float 4.7"),
        ({"names": ["a\x00b"]}, "names[0]", "NUL"),
        ({"name": "\ud800"}, "name", "surrogate"),
        ({1: "a"}, "record", "int 1"),
        ({"photo": b"raw"}, "photo", "bytes"),
        ({"e\u0301": 1, "\u00e9": 2}, "record", "twice"),
    ],
)
def test_what_cannot_be_kept_is_refused_with_its_place(value: object, where: str, found: str) -> None:
    with pytest.raises(InputError) as caught:
        canonical(value)
    assert caught.value.problems[0].where == where
    assert found in caught.value.problems[0].found
    assert caught.value.problems[0].next_step


def test_nesting_without_end_is_refused() -> None:
    value: list[object] = []
    for _ in range(60):
        value = [value]
    with pytest.raises(InputError, match="levels"):
        canonical(value)


@pytest.mark.parametrize("text", ['{"b":1,"a":2}', '{"a": 1}', '{"a":1.5}', "{", '{"a":"e\u0301"}', "[" * 5000])
def test_text_that_is_not_canonical_is_refused(text: str) -> None:
    with pytest.raises(InputError):
        from_canonical(text)


def test_a_digest_covers_the_text_and_the_digest_before_it() -> None:
    first = hashlib.sha256(b'\n{"a":1}\n').hexdigest()
    assert entry_digest(FIRST, '{"a":1}') == first
    assert entry_digest(first, '{"a":2}') == hashlib.sha256(f'{first}\n{{"a":2}}\n'.encode()).hexdigest()


def test_a_broken_chain_names_each_entry_that_does_not_hold() -> None:
    links = list(chain(['{"a":1}', '{"a":2}', '{"a":3}']))
    links[1] = Link(text='{"a":9}', prev_digest=links[1].prev_digest, digest=links[1].digest)
    problems = verify(links, name="aircraft D-ONE")
    assert [problem.where for problem in problems] == ["aircraft D-ONE, entry 2"]


def test_entries_dropped_from_the_end_show_against_the_paper_record() -> None:
    links = chain(['{"a":1}', '{"a":2}'])
    assert verify(links[:1]) == ()
    assert "last digest" in verify(links[:1], head=links[-1].digest)[0].expected


def test_old_entries_are_lifted_step_by_step_and_left_as_they_were() -> None:
    upcaster = Upcaster()

    @upcaster.register("reading", 1)
    def _name_the_gauge(content: object) -> dict[str, object]:
        return {**content, "gauge": "panel"}  # type: ignore[dict-item]

    @upcaster.register("reading", 2)
    def _split_the_unit(content: object) -> dict[str, object]:
        number, unit = content["value"].split()  # type: ignore[index]
        return {**content, "value": number, "unit": unit}  # type: ignore[dict-item]

    old = {"value": "4.7 inHg"}
    assert upcaster.lift("reading", 1, old) == {"value": "4.7", "unit": "inHg", "gauge": "panel"}
    assert old == {"value": "4.7 inHg"}
    assert upcaster.newest("reading") == 3
    assert upcaster.newest("report") == 1
    with pytest.raises(ValueError, match="gap"):
        upcaster.register("reading", 5)(_name_the_gauge)
    with pytest.raises(NoAnswer, match="newer"):
        upcaster.lift("reading", 4, old)
