"""The demo's promises to whoever runs it: what it says, what it leaves behind, and what it never touches."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from tests.contracts.answer_shapes import hold, process, run
from vanewise.demo.play import CASE, MARK, WHOLE


def played(folder: Path, *words: str) -> Any:
    done = process("demo", "--json", *words, folder=folder)
    assert done.returncode == 0, done.stderr
    data = json.loads(done.stdout)
    hold("vanewise demo", data)
    return data


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Any]:
    """The demo, played where an earlier one was broken off half way."""
    folder = tmp_path_factory.mktemp("demo")
    home = folder / "demo-out" / "home"
    home.mkdir(parents=True)
    (home / MARK).touch()
    (home / "vanewise.sqlite3").write_bytes(b"half a database")
    return folder, played(folder)


def test_a_case_that_was_broken_off_does_not_count_as_played(demo: tuple[Path, Any]) -> None:
    """Half a home has the demo's mark, and not the mark of the end: it is made anew, whatever is in it."""
    folder, data = demo
    assert data["played"] is True and (folder / "demo-out" / "home" / WHOLE).exists()


def test_it_concludes_what_the_case_is_about(demo: tuple[Path, Any]) -> None:
    _, data = demo
    early, late = data["causes"]
    assert early["undecided"] and {"regulator_seat_dirty", "worn_vanes", "leak"} <= set(early["group"])
    assert not late["undecided"] and late["group"] == ["debris_left_in_lines"]
    assert (data["first_run"], data["second_run"]) == ("fail", "pass")
    assert not {"attitude", "heading"} & set(data["suspects"]), "the gyros are no victims here"


def test_everything_it_names_is_there(demo: tuple[Path, Any]) -> None:
    folder, data = demo
    out = folder / "demo-out"
    for name in data["files"]:
        body = (out / name).read_bytes()
        assert body.startswith(b"%PDF-") if name.endswith(".pdf") else json.loads(body), name
    assert run("validate", out / CASE / "d1_club_aircraft.toml").exit_code == 0
    assert not [path for path in out.iterdir() if path.name.startswith(".")], "nothing half written"


def test_what_it_kept_is_a_home_like_any_other(demo: tuple[Path, Any]) -> None:
    folder, data = demo
    verified = process("verify", "demo-out/home", "--json", folder=folder)
    assert verified.returncode == 0 and list(json.loads(verified.stdout)["heads"]) == [data["aircraft"]]
    due = json.loads(process("due", "demo-out/home", "--json", folder=folder).stdout)["due"]
    assert sorted(item["item"] for item in due[0]["items"]) == sorted(data["due"])


def test_a_case_that_is_there_is_left_alone(demo: tuple[Path, Any]) -> None:
    folder, data = demo
    before = json.loads(process("verify", "demo-out/home", "--json", folder=folder).stdout)
    again = played(folder)
    assert again["played"] is False and again["aircraft"] == data["aircraft"]
    assert json.loads(process("verify", "demo-out/home", "--json", folder=folder).stdout) == before


def test_a_folder_of_somebody_else_is_not_touched(tmp_path: Path) -> None:
    home = tmp_path / "demo-out" / "home"
    home.mkdir(parents=True)
    (home / "letters.txt").write_text("mine", encoding="utf-8")
    for words in ([], ["--fresh"]):
        done = process("demo", *words, folder=tmp_path)
        assert done.returncode == 2 and "choose another --out" in done.stderr
    assert [path.name for path in home.iterdir()] == ["letters.txt"]
