"""A person who errs is told four things, as text and as JSON, with exit code 2; nothing is written meanwhile."""

from __future__ import annotations

import json
import os
from collections.abc import Callable
from pathlib import Path

import msgspec
import pytest

from tests.contracts.answer_shapes import example, hold, run
from vanewise import pipeline
from vanewise.cli import exit_code
from vanewise.errors import InputError, Locked, NoAnswer, NotCovered, Problem
from vanewise.jobs.files import LARGEST

D1 = str(example("d1_club_aircraft.toml"))
D2 = str(example("d2_pressure.toml"))
EVIDENCE = str(example("d1_evidence.toml"))
BRACKETS = 100_000


def refused(*words: str, code: int = 2) -> str:
    """Run it as text and as JSON; both must refuse in the same four parts. Returns the text."""
    told = run(*words)
    assert told.exit_code == code, told.output
    assert told.stdout == "", "an answer and a refusal at once"
    again = run(*words, "--json")
    assert again.exit_code == code
    if "--json" in told.stderr or "No such option '--json'" in again.stderr:
        return told.stderr
    body = json.loads(again.stdout)
    hold("any command that gave no answer", body)
    assert body["error"] == ("wrong input" if code == 2 else "no answer")
    for problem in body["problems"]:
        assert all(part.strip() for part in problem.values()), problem
        assert problem["where"] in told.stderr
    for word in ("Expected ", "Found: ", "Next: "):
        assert told.stderr.count(f"\n  {word}") == len(body["problems"])
    assert "Traceback" not in told.stderr
    return told.stderr


# ---- files -----------------------------------------------------------------------------------------------------------

BAD_FILES: dict[str, tuple[Callable[[Path], object], str]] = {
    "missing": (lambda path: None, "no such file"),
    "folder": (lambda path: path.mkdir(), "a folder"),
    "binary": (lambda path: path.write_bytes(bytes(range(256))), "UTF-8"),
    "utf-16": (lambda path: path.write_bytes("duty = 1".encode("utf-16")), "UTF-8"),
    "huge": (lambda path: path.write_bytes(b"#" * (LARGEST + 1)), "million bytes"),
    "loop": (lambda path: path.symlink_to(path), "symbolic links"),
    "bottomless brackets": (lambda path: path.write_text("a = " + "[" * BRACKETS + "]" * BRACKETS), "recursion"),
    "half a table": (lambda path: path.write_text("[[parts]\n"), "line 1"),
    "another file": (lambda path: path.write_text("somebody = 'else'\n"), "somebody"),
}
READS_FILE: dict[str, Callable[[str], tuple[str, ...]]] = {
    "validate": lambda file: ("validate", file),
    "sweep": lambda file: ("sweep", file),
    "trace": lambda file: ("trace", file, "--part", "pump", "--event", "stop"),
    "diagnose": lambda file: ("diagnose", file, EVIDENCE),
    "diagnose, evidence": lambda file: ("diagnose", D1, file, "--quick"),
    "prove": lambda file: ("prove", file, str(example("d1_ground_run_first.toml"))),
    "prove, readings": lambda file: ("prove", D1, file),
    "wear": lambda file: ("wear", file),
}


@pytest.mark.parametrize("fault", BAD_FILES)
@pytest.mark.parametrize("command", READS_FILE)
def test_a_file_that_cannot_be_used(command: str, fault: str, tmp_path: Path) -> None:
    make, told = BAD_FILES[fault]
    file = tmp_path / "mine.toml"
    make(file)
    assert told in refused(*READS_FILE[command](str(file)))


@pytest.mark.skipif(os.name == "nt" or os.geteuid() == 0, reason="needs a user who can be refused")
def test_a_file_without_permission(tmp_path: Path) -> None:
    file = tmp_path / "mine.toml"
    file.write_text("duty = 1", encoding="utf-8")
    file.chmod(0)
    assert "permission" in refused("validate", str(file)).lower()


def test_marks_that_editors_leave_are_no_fault(tmp_path: Path) -> None:
    """A byte order mark and Windows line ends."""
    body = Path(D1).read_bytes()
    for name, text in {"bom": b"\xef\xbb\xbf" + body, "crlf": body.replace(b"\n", b"\r\n")}.items():
        file = tmp_path / f"{name}.toml"
        file.write_bytes(text)
        assert run("validate", file).exit_code == 0, name
    evidence = tmp_path / "evidence.toml"
    evidence.write_bytes(b"\xef\xbb\xbf" + b'[[readings]]\nreading = "4.0"\nrpm = "1000 rpm"\n')
    assert "readings[0].reading" in refused("diagnose", D1, str(evidence), "--quick")


def test_every_problem_of_a_file_is_told_at_once(tmp_path: Path) -> None:
    file = tmp_path / "mine.toml"
    text = Path(D1).read_text(encoding="utf-8")
    text = text.replace('bore = "5/8 in (measured)"', 'bore = "5/8"', 1).replace(
        'length = "0.95 m', 'length = "0.95 furlong'
    )
    file.write_text(text, encoding="utf-8")
    told = refused("validate", str(file))
    assert "bore" in told and "furlong" in told


def test_what_a_file_says_cannot_move_the_cursor(tmp_path: Path) -> None:
    file = tmp_path / "mine.toml"
    file.write_text(
        Path(D1).read_text(encoding="utf-8").replace('duty = "suction"', 'duty = "\\u001b[2J"'), encoding="utf-8"
    )
    assert "\x1b" not in refused("validate", str(file))


# ---- words and numbers -----------------------------------------------------------------------------------------------

WRONG = {
    "an unknown command": (("swep", D1), "did you mean sweep"),
    "an unknown option": (("sweep", D1, "--revs", "700"), "'--revs'"),
    "no file": (("sweep",), "nothing"),
    "one word too many": (("sweep", D1, "now"), "now"),
    "negative rpm": (("sweep", D1, "--rpm", "-700"), "-700 rpm"),
    "rpm beyond any engine": (("sweep", D1, "--rpm", "700,1e6"), "1,000,000 rpm"),
    "rpm that is no number": (("sweep", D1, "--rpm", "nan"), "nan"),
    "rpm with a unit": (("sweep", D1, "--rpm", "700 rpm"), '"700 rpm"'),
    "rpm left empty": (("sweep", D1, "--rpm", ""), '""'),
    "one comma too many": (("sweep", D1, "--rpm", "700,,900"), '"700,,900"'),
    "height as a word": (("sweep", D1, "--altitude", "high"), "'high'"),
    "height beyond the troposphere": (("sweep", D1, "--altitude", "60000"), "60,000 ft"),
    "height endless": (("trace", D1, "--part", "pump", "--event", "stop", "--altitude", "inf"), "inf"),
    "colder than there is": (("sweep", D1, "--temperature", "-300"), "-300"),
    "state without a number": (("sweep", D1, "--state", "pump.slip"), "pump.slip=3"),
    "state that is no number": (("sweep", D1, "--state", "pump.slip=nan"), "nan"),
    "state below what is possible": (("sweep", D1, "--state", "pump.slip=-1"), "0.1 to 100"),
    "state above what is possible": (("sweep", D1, "--state", "firewall_hose.open_fraction=2"), "0 to 1"),
    "field beyond what is possible": (("sweep", D1, "--state", "firewall_hose.bore=3"), "0.0"),
    "state nobody knows": (("sweep", D1, "--state", "pump.slipp=3"), "did you mean pump.slip"),
    "part nobody knows": (("sweep", D1, "--state", "pomp.slip=3"), "did you mean pump.slip"),
    "trace of no part": (("trace", D1, "--part", "pomp", "--event", "stop"), '"pomp"'),
    "trace of no event": (("trace", D1, "--part", "pump", "--event", "explosion"), "running, stop"),
    "trace without a part": (("trace", D1, "--event", "stop"), "--part"),
    "finding without a state": (("trace", D1, "--part", "pump", "--event", "stop", "--found", "filter"), "intact"),
    "line found intact": (
        ("trace", D1, "--part", "pump", "--event", "stop", "--found", "firewall_hose=intact"),
        "--found firewall_hose=clean,0.3m",
    ),
    "line clean without a length": (
        ("trace", D1, "--part", "pump", "--event", "stop", "--found", "firewall_hose=clean"),
        "measured from its dirty end",
    ),
    "line clean without a unit": (
        ("trace", D1, "--part", "pump", "--event", "stop", "--found", "firewall_hose=clean,0.3"),
        "0.3",
    ),
    "arrow in other words": (
        ("trace", D2, "--part", "pump", "--event", "running", "--found", "inline_filter=intact,ok"),
        "inline_filter=intact,right-way",
    ),
    "turned back by nothing": (
        ("trace", D1, "--part", "pump", "--event", "turned backwards", "--turns-back", "0"),
        "over 0",
    ),
    "turns while running": (
        ("trace", D1, "--part", "pump", "--event", "running", "--turns-back", "1"),
        "event stop or turned backwards",
    ),
    "finding at no barrier": (("trace", D1, "--part", "pump", "--event", "stop", "--found", "gyro=intact"), '"gyro"'),
    "cause nobody knows": (("plan", D1, EVIDENCE, "--cause", "worn_vane", "--out", "out"), "worn_vanes"),
    "cause this aircraft cannot have": (
        ("plan", D1, EVIDENCE, "--cause", "inline_filter_loaded", "--out", "out"),
        "one this aircraft can have",
    ),
    "plan without a place": (("plan", D1, EVIDENCE, "--cause", "leak"), "--out"),
    "plan on strange paper": (("plan", D1, EVIDENCE, "--cause", "leak", "--out", "out", "--page", "a3"), "a4, letter"),
    "layout nobody knows": (("new", "three-pumps", "never.toml"), "suction-one-pump"),
    "answer without a question": (("ask", "never.toml", "--answer", "suction"), "QUESTION=ANSWER"),
    "answer nobody allows": (("ask", "never.toml", "--answer", "duty=both"), "pressure"),
    "wet pump": (("ask", "never.toml", "--answer", "pumps=wet pump"), "oil-lubricated"),
    "schema of nothing": (("schema", "engine"), "aircraft, evidence"),
    "home that is none": (("due", "never"), "home folder"),
    "home to verify that is none": (("verify", "never"), "home folder"),
    "backup of nothing": (("backup", "never", "never.zip"), "home folder"),
    "restore from nothing": (("restore", "never.zip", "never"), "backup file"),
}


@pytest.mark.parametrize("fault", WRONG)
def test_a_command_line_that_cannot_be_meant(fault: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    words, told = WRONG[fault]
    assert told in refused(*words)
    assert list(tmp_path.iterdir()) == [], "something was written"


EVIDENCE_FAULTS = {
    "no unit": ('[[readings]]\nreading = "4.0"\nrpm = "1000 rpm"\n', "unit"),
    "unit of something else": ('[[readings]]\nreading = "4.0 cfm"\nrpm = "1000 rpm"\n', "inHg"),
    "no engine speed": ('[[readings]]\nreading = "4.0 inHg"\n', "rpm"),
    "symptom nobody knows": ('[[remarks]]\nsymptom = "ai_lean"\n', "ai_leans"),
    "event nobody knows": ('[[events]]\nkind = "pump_change"\n', "pump_changed"),
    "check nobody knows": ('[[checks]]\ncheck = "coverr_test"\n', "cover_test"),
    "outcome nobody knows": ('[[checks]]\ncheck = "drain_look"\noutcome = "purple"\n', "purple"),
    "part nobody knows": ('[[remarks]]\nsymptom = "ai_leans"\nabout = "attitud"\n', "attitud"),
    "part of an event nobody knows": ('[[events]]\nkind = "gyro_changed"\nabout = "headng"\n', "headng"),
    "two of one name": (
        '[[remarks]]\nid = "a"\nsymptom = "ai_leans"\n[[remarks]]\nid = "a"\nsymptom = "lamp_on"\n',
        '"a"',
    ),
    "date that is none": ('[[events]]\nkind = "washed"\nwhen = "2025-02-30"\n', "2025-02-30"),
    "engine speed below nothing": ('[[readings]]\nreading = "4.0 inHg"\nrpm = "-1000 rpm"\n', "-1"),
}


@pytest.mark.parametrize("fault", EVIDENCE_FAULTS)
def test_evidence_that_cannot_be_used(fault: str, tmp_path: Path) -> None:
    text, told = EVIDENCE_FAULTS[fault]
    file = tmp_path / "evidence.toml"
    file.write_text(text, encoding="utf-8")
    assert told in refused("diagnose", D1, str(file), "--quick")


READING_FAULTS = {
    "no unit": ("prove", '[rising]\n700 = "1.8"\n', "unit"),
    "engine speed as a word": ("prove", '[rising]\nidle = "1.8 inHg"\n', "idle"),
    "thing nobody looks at": ("prove", '[[seen]]\nwhat = "lamp"\n', "lamp out"),
    "baseline without a date it can read": ("prove", '[baseline]\ndate = "last year"\n', "last year"),
    "no hours": ("wear", 'duty = "suction"\n', "hours_now"),
    "look without its kind": ("wear", 'duty = "suction"\nhours_now = "9 h"\n[[looks]]\nhours = "1 h"\n', "kind"),
    "look after now": ("wear", 'duty = "suction"\nhours_now = "9 h"\n[[looks]]\nhours = "90 h"\nkind = "seen"\n', "90"),
    "port whose meaning nobody said": (
        "wear",
        'duty = "suction"\nhours_now = "9 h"\n[[looks]]\nhours = "1 h"\nkind = "seen"\n',
        "seen",
    ),
    "length without its limits": (
        "wear",
        'duty = "suction"\nhours_now = "9 h"\n[[looks]]\nhours = "1 h"\nkind = "length"\nlength = "10 mm"\n',
        "minimum_length",
    ),
}


@pytest.mark.parametrize("fault", READING_FAULTS)
def test_readings_and_looks_that_cannot_be_used(fault: str, tmp_path: Path) -> None:
    command, text, told = READING_FAULTS[fault]
    file = tmp_path / "readings.toml"
    file.write_text(text, encoding="utf-8")
    assert told in refused(*((command, D1) if command == "prove" else (command,)), str(file))


# ---- writing ---------------------------------------------------------------------------------------------------------


def test_a_place_that_cannot_be_written(tmp_path: Path) -> None:
    blocked = tmp_path / "file"
    blocked.write_text("mine", encoding="utf-8")
    told = refused("new", "suction-one-pump", str(blocked / "inside.toml"))
    assert "can be written" in told
    plan = ("plan", D1, EVIDENCE, "--cause", "leak", "--out", str(blocked / "inside"))
    assert "no folder" in refused(*plan), "told before anything is computed"
    assert blocked.read_text(encoding="utf-8") == "mine" and len(list(tmp_path.iterdir())) == 1


def test_a_folder_is_not_written_over(tmp_path: Path) -> None:
    folder = tmp_path / "folder"
    folder.mkdir()
    assert "folder" in refused("new", "suction-one-pump", str(folder), "--force")
    assert list(folder.iterdir()) == [] and len(list(tmp_path.iterdir())) == 1


# ---- codes -----------------------------------------------------------------------------------------------------------

PROBLEM = Problem(where="here", expected="this", found="that", next_step="look")


@pytest.mark.parametrize(
    ("error", "code"),
    [(InputError(PROBLEM), 2), (NotCovered(PROBLEM), 2), (Locked(PROBLEM), 2), (NoAnswer(PROBLEM), 3)],
)
def test_codes(error: Exception, code: int) -> None:
    assert exit_code(error) == code


def test_a_sweep_without_any_solved_point_is_no_answer(monkeypatch: pytest.MonkeyPatch) -> None:
    """The one way to see exit code 3 with a solver that hardly ever fails: a stage that solves nothing."""
    solved = pipeline.solve

    def unsolved(*words: object, **named: object) -> object:
        swept = solved(*words, **named)  # type: ignore[arg-type]
        point = msgspec.structs.replace(swept.points[0], gauge_inhg=None, parts=(), status="not converged")
        return msgspec.structs.replace(swept, points=(point,))

    monkeypatch.setattr(pipeline, "solve", unsolved)
    assert "vouch" in refused("sweep", D1, "--rpm", "700", code=3)


def test_a_point_that_is_not_solved_says_so_beside_those_that_are(monkeypatch: pytest.MonkeyPatch) -> None:
    solved = pipeline.solve

    def half(*words: object, **named: object) -> object:
        swept = solved(*words, **named)  # type: ignore[arg-type]
        empty: dict[str, float] = {}
        bad = msgspec.structs.replace(
            swept.points[0], gauge_inhg=None, lamp_on=None, drops_inhg=empty, pump_load_inhg=empty, parts=()
        )
        return msgspec.structs.replace(swept, points=(bad, *swept.points[1:]))

    monkeypatch.setattr(pipeline, "solve", half)
    done = run("sweep", D1, "--rpm", "700,1000")
    assert done.exit_code == 0
    rows = [line.split() for line in done.output.splitlines() if line.strip()[:1].isdigit()]
    assert rows[0][:3] == ["700", "not", "solved"] and rows[1][0] == "1000" and len(rows[1]) == 6
