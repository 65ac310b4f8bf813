"""Histories exported by earlier versions still read, and mean the same."""

from __future__ import annotations

from pathlib import Path

from vanewise.record.history import entries, from_csv, from_json, standing

HERE = Path(__file__).parent


def test_a_history_of_version_1_reads_as_it_was_written() -> None:
    aircraft, links = from_json((HERE / "history_version_1.json").read_text(encoding="utf-8"))
    assert aircraft == "invented club aircraft"
    assert links[-1].digest == "fa895c73ba7e81db4398d1f2a9f860561dcb393b77c02abbf66b9cb907345cc8"
    history = entries(links)
    assert [entry.kind for entry in history] == ["meters", "remark", "meters", "correction", "record draft"]
    now = standing(history)
    assert now[2].entry.content["tach"] == "2985.4 h"
    assert now[2].corrected_by is not None and now[2].corrected_by.content["tach"] == "2984.4 h"
    assert "Äußere Leitung geprüft – clean." in str(now[3].entry.content["text"])


def test_the_same_history_as_a_table() -> None:
    with (HERE / "history_version_1.csv").open(encoding="utf-8", newline="") as file:
        links = from_csv(file.read())
    assert links == from_json((HERE / "history_version_1.json").read_text(encoding="utf-8"))[1]
