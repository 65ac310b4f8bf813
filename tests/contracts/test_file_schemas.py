"""The published schema of each file: it takes the examples, and knows the keys and words that the reader knows."""

from __future__ import annotations

import datetime
import json
import re
import tomllib
from collections.abc import Callable, Iterator
from importlib import resources
from typing import Any

import jsonschema
import pytest

from vanewise.aircraft.reading import read_description
from vanewise.diagnosis.reading import read_evidence
from vanewise.errors import InputError
from vanewise.groundrun.reading import read_ground_run
from vanewise.jobs.compute import schema
from vanewise.jobs.file_schemas import FILES
from vanewise.study.reading import read_study
from vanewise.watch.reading import read_wear

READERS: dict[str, Callable[[str, str], object]] = {
    "evidence": read_evidence,
    "ground-run": read_ground_run,
    "wear": read_wear,
    "study": lambda text, path: read_study(text, path, read_description(example("d1_club_aircraft.toml"), "d1")),
}
EXAMPLES = {
    "evidence": ["d1_evidence.toml", "d1_evidence_27h.toml", "d2_evidence.toml", "d3_evidence.toml"],
    "ground-run": ["d1_ground_run_first.toml", "d1_ground_run_second.toml"],
    "wear": ["d2_wear.toml"],
    "study": ["d1_study.toml"],
    "aircraft": ["d1_club_aircraft.toml", "d2_pressure.toml", "d3_case_leak.toml"],
}
ODD = "zzz"


def example(name: str) -> str:
    return resources.files("vanewise.demo").joinpath(name).read_text(encoding="utf-8")


def plain(value: Any) -> Any:
    """Data of a TOML reader with dates as texts."""
    if isinstance(value, dict):
        return {key: plain(item) for key, item in value.items()}
    if isinstance(value, list):
        return [plain(item) for item in value]
    return value.isoformat() if isinstance(value, datetime.date) else value


def checker(what: str) -> jsonschema.Draft202012Validator:
    made = json.loads(schema(what))
    jsonschema.Draft202012Validator.check_schema(made)
    return jsonschema.Draft202012Validator(made, format_checker=jsonschema.FormatChecker())


@pytest.mark.parametrize("what", FILES)
def test_the_examples_are_taken(what: str) -> None:
    for name in EXAMPLES[what]:
        assert list(checker(what).iter_errors(plain(tomllib.loads(example(name))))) == [], name


@pytest.mark.parametrize("what", FILES)
def test_a_strange_key_is_refused(what: str) -> None:
    data = plain(tomllib.loads(example(EXAMPLES[what][0])))
    assert list(checker(what).iter_errors({**data, ODD: 1}))


TABLES = [
    ("evidence", ""),
    ("evidence", "conditions"),
    *(("evidence", name) for name in ("readings", "sweeps", "lamp", "remarks", "events", "checks")),
    ("ground-run", ""),
    ("ground-run", "seen"),
    ("ground-run", "baseline"),
    ("wear", ""),
    ("wear", "looks"),
    ("wear", "events"),
    ("study", ""),
]


LEAST = {
    "sweeps": "rpm = [700]\nreading = [1.6]\n",
    "lamp": 'rpm = "1070 rpm"\n',
    "checks": 'check = "cover_test"\n',
    "seen": 'what = "lamp out"\n',
    "vary": 'what = "pump.slip"\n',
}
"""What a table needs before its reader looks at every key."""


def with_odd_key(table: str) -> str:
    """A file that is empty but for a key nobody knows, in that table."""
    single = table in ("conditions", "baseline")
    head = "" if not table else f"[{table}]\n" if single else f"[[{table}]]\n"
    return f"{head}{LEAST.get(table, '')}{ODD} = 1\n"


def keys_read(what: str, table: str) -> set[str]:
    """The keys that the reader itself says it knows there, when it meets one it does not."""
    with pytest.raises(InputError) as caught:
        READERS[what](with_odd_key(table), "file.toml")
    told = [problem for problem in caught.value.problems if ODD in problem.found]
    assert len(told) == 1
    return set(re.sub("^one of ", "", told[0].expected).split(", "))


def keys_published(what: str, table: str) -> set[str]:
    properties = json.loads(schema(what))["properties"]
    if table:
        entry = properties[table]
        properties = entry.get("items", entry)["properties"]
    return set(properties)


@pytest.mark.parametrize(("what", "table"), TABLES)
def test_schema_and_reader_know_the_same_keys(what: str, table: str) -> None:
    assert keys_published(what, table) == keys_read(what, table)


def enumerated(what: str) -> Iterator[tuple[str, str, list[Any]]]:
    for table, entry in json.loads(schema(what))["properties"].items():
        for key, field in entry.get("items", {}).get("properties", {}).items():
            if "enum" in field:
                yield table, key, field["enum"]


@pytest.mark.parametrize("what", READERS)
def test_every_word_it_offers_is_read(what: str) -> None:
    """An offered word gives no problem of its own; one nobody knows does."""
    offered = list(enumerated(what))
    assert offered
    for table, key, words in offered:
        least = "" if key in LEAST.get(table, "") else LEAST.get(table, "")
        for word in [*words, ODD]:
            text = f"[[{table}]]\n{least}{key} = {json.dumps(word)}\n{ODD} = 1\n"
            with pytest.raises(InputError) as caught:
                READERS[what](text, "file.toml")
            about = [problem for problem in caught.value.problems if problem.path.endswith(f".{key}")]
            assert bool(about) == (word == ODD), (table, key, word, about)
