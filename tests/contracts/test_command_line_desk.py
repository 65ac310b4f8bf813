"""Commands on one kept aircraft: readings, tables, lists, cards, lives, components, histories out and in."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from icalendar import Calendar
from pypdf import PdfReader

from tests.contracts.answer_shapes import example, hold

SEED = """
import sys
from pathlib import Path
from vanewise.jobs import aircraft, components, due_limits, lives, watch
from vanewise.jobs.kept import open_home
open_home(Path("home"))
who = aircraft.keep(Path(sys.argv[1]).read_text(encoding="utf-8"), author="Ada", at="2025-02-22T10:00:00Z")
for item, hours in (("central filter", "500 h"), ("second look", "25 h")):
    due_limits.add_limit(who, {"item": item, "nature": "own", "hours": hours}, author="Ada", at="2025-02-22T10:01:00Z")
    due_limits.add_done(who, item, date="2025-02-22", tach="2983.9 h", author="Ada", at="2025-02-22T10:02:00Z")
for hours in ("610 h", "580 h", "640 h", "600 h"):
    lived = {"kind": "coupling", "lived_to": hours, "ended_by": hours, "cause": "sheared"}
    lives.add(who, lived, author="Ada", at="2025-02-22T10:03:00Z")
event = {"serial": "S-17", "part": "pump", "kind": "fitted", "date": "2024-11-02", "tach": "2941.6 h"}
components.add(who, event, author="Ada", at="2025-02-22T10:04:00Z")
print(who)
"""
TABLE = "Day,Vac,RPM\n2025-03-01,4.9,1800\n2025-03-08,4.8,1800\n"


SESSION = """
import json, sys
from click.testing import CliRunner
from vanewise.cli import main
for words in json.loads(sys.argv[1]):
    done = CliRunner().invoke(main, [*words, "--json"], prog_name="vanewise")
    print(json.dumps([done.exit_code, done.stdout]))
"""


@pytest.fixture(scope="module")
def kept(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, str]:
    """A folder with a home of one aircraft, and its id."""
    folder = tmp_path_factory.mktemp("desk")
    (folder / "table.csv").write_text(TABLE, encoding="utf-8")
    return folder, python(folder, SEED, str(example("d1_club_aircraft.toml"))).strip()


def python(folder: Path, program: str, *words: str) -> str:
    done = subprocess.run(
        [sys.executable, "-c", program, *words], cwd=folder, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


def told(folder: Path, *commands: tuple[str, ...], refused: int | None = None) -> list[Any]:
    """What several commands print one after another, each in its published shape; one of them may be refused.

    They share a process: it can open one home only, and starting it takes longer than what it is asked.
    """
    answers = []
    for number, line in enumerate(python(folder, SESSION, json.dumps(commands)).splitlines()):
        code, printed = json.loads(line)
        assert code == (2 if number == refused else 0), printed
        data = json.loads(printed)
        hold("any command that gave no answer" if code else f"vanewise {commands[number][0]}", data)
        answers.append(data)
    assert len(answers) == len(commands)
    return answers


def test_readings_lists_lives_and_cards(kept: tuple[Path, str]) -> None:
    folder, who = kept
    at = ("home", who)
    up = ("run-up", *at, "--gauge", "4.9", "--rpm", "1800", "--tach", "2990.4", "--date", "2025-02-25")
    columns = [word for item in ("Day=date", "Vac=gauge:inHg", "RPM=engine rpm:rpm") for word in ("--column", item)]
    off = ("--name", "Cleo", "--reason", "no part to be had", "--until-hours", "3040")
    kept_up, odd, figures, first, again, due, decided, _, _, lived, parts = told(
        folder,
        (*up, "--author", "Ada"),
        ("run-up", *at, "--gauge", "2.1", "--rpm", "1800", "--date", "2025-03-01", "--author", "Ada"),
        ("readings", *at),
        ("read-table", *at, "table.csv", *columns, "--author", "Ada"),
        ("read-table", *at, "table.csv", "--author", "Ada"),
        ("due", "home"),
        ("put-off", *at, "second look", *off),
        ("calendar", *at, "next.ics"),
        ("card", *at, "walk-round", "card.pdf"),
        ("lives", *at, "coupling"),
        ("components", *at),
        refused=1,
    )
    assert kept_up["kinds"] == ["meters", "reading"]
    assert [problem["where"] for problem in odd["problems"]] == ["gauge"], "told, and not kept"
    (up_again,) = [figure for figure in figures["figures"] if figure["figure"] == "run_up"]
    assert up_again["newest"] == pytest.approx(4.9) and up_again["trend"]["state"] == "too few"
    assert (first["rows"], first["kept"], first["known"]) == (2, 2, 0)
    assert (again["kept"], again["known"]) == (0, 2)
    assert [item["item"] for item in due["due"][0]["items"]] == ["second look", "central filter"]
    assert decided["kinds"] == ["put off"]
    events = Calendar.from_ical((folder / "next.ics").read_bytes()).walk("VEVENT")
    assert len(events) == 2 and any("no part to be had" in str(event["description"]) for event in events)
    assert len(PdfReader(folder / "card.pdf").pages) == 1
    assert lived["lives"] == 4 and lived["causes"][0]["ends"] == 4 and lived["replace_at_hours"] is None
    assert [(card["serial"], card["state"]) for card in parts["cards"]] == [("S-17", "fitted")]


def test_a_history_goes_to_another_home_whole(kept: tuple[Path, str]) -> None:
    folder, who = kept
    out, wrong = told(folder, ("export", "home", who, "--out", "out"), ("export", "home", "x", "--out", "o"), refused=1)
    assert {Path(name).suffix for name in out["files"]} == {".json", ".csv", ".pdf"}
    assert wrong["problems"][0]["where"] == "aircraft"
    taken, verified, again = told(
        folder,
        ("import", "other", f"out/history-{who}.json"),
        ("verify", "other"),
        ("import", "other", f"out/history-{who}.csv"),
    )
    assert taken["head"] == out["head"] == verified["heads"][who]
    assert again["added"] == 0
