"""The reference pages say what the code does: every kind, field, state, question and value is on its page."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tools import docs
from vanewise.aircraft.kinds import KINDS, SECTIONS
from vanewise.aircraft.questions import QUESTIONS
from vanewise.aircraft.schema import file_schema
from vanewise.values import all_values


@pytest.fixture(scope="module")
def pages() -> dict[str, str]:
    return docs.all_pages()


def test_pages_on_disk_are_as_the_code_makes_them(pages: dict[str, str]) -> None:
    assert list(docs.differing(pages)) == []


def test_a_stale_a_changed_and_a_missing_page_are_each_told(
    pages: dict[str, str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(docs, "PAGES", tmp_path)
    for name, text in pages.items():
        (tmp_path / name).write_text(text, encoding="utf-8")
    assert docs.main(["--check"]) == 0
    (tmp_path / "old.md").write_text("gone", encoding="utf-8")
    (tmp_path / "parts.md").write_text("changed", encoding="utf-8")
    (tmp_path / "values.md").unlink()
    assert docs.main(["--check"]) == 1
    told = capsys.readouterr().out
    assert all(name in told for name in ("old.md", "parts.md", "values.md"))
    assert docs.main([]) == 0
    assert docs.main(["--check"]) == 0
    assert docs.main(["--chekc"]) == 2


def test_every_kind_port_field_and_state_is_described(pages: dict[str, str]) -> None:
    text = pages["parts.md"]
    for kind in KINDS.values():
        assert f"\n## {kind.name}\n" in text
        for named in (*kind.ports, *kind.fields, *kind.states):
            assert f"| `{named.name}` | {named.meaning} |" in text
    for section, specs in SECTIONS.items():
        assert f"`[{section}]`" in text
        assert all(f"| `{spec.name}` | {spec.meaning} |" in text for spec in specs)


def test_every_question_and_answer_is_described(pages: dict[str, str]) -> None:
    for question in QUESTIONS:
        assert question.text in pages["questions.md"]
        assert question.how_to_look in pages["questions.md"]
        assert all(f"| `{answer.id}` |" in pages["questions.md"] for answer in question.answers)


def test_every_value_is_listed_with_its_source(pages: dict[str, str]) -> None:
    rows = [line for line in pages["values.md"].split("\n") if line.startswith("| ")]
    for cited in all_values():
        assert any(row.startswith(f"| {cited.title} |") and str(cited.value.source) in row for row in rows), cited


def test_the_schema_is_published(pages: dict[str, str]) -> None:
    assert json.loads(pages["description.schema.json"]) == file_schema()
