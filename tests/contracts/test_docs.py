"""The docs say what happens: every command line they show runs, every line of output they quote is printed."""

from __future__ import annotations

import re
import shlex
import shutil
import subprocess
import sys
from collections.abc import Iterator
from importlib import resources
from pathlib import Path

import pytest

from tests.contracts.answer_shapes import ROOT, example, process, run
from tests.contracts.test_command_line_home import SEED
from vanewise.aircraft.reading import read_description
from vanewise.cli import main
from vanewise.diagnosis.modes import MODES
from vanewise.diagnosis.reading import read_evidence
from vanewise.diagnosis.vocabulary import CHECKS, EVENTS, SYMPTOMS
from vanewise.groundrun.reading import read_ground_run
from vanewise.study.reading import read_study
from vanewise.watch.reading import read_wear

DOCS = ROOT / "docs"
PAGES = (ROOT / "README.md", *sorted(DOCS.rglob("*.md")))
FENCE = re.compile(r"^```(\w*)\n(.*?)^```", re.MULTILINE | re.DOTALL)
INDENTED = re.compile(r"^ {4,7}(vanewise .*)$", re.MULTILINE)
NOT_RUN = {
    "serve": "does not end by itself",
    "demo": "has tests of its own",
    "passphrase": "asks at a terminal, and has tests of its own",
    **dict.fromkeys(
        ("run-up", "readings", "read-table", "put-off", "calendar", "card", "lives", "components", "export", "import"),
        "needs an aircraft kept in a home, and has tests of its own",
    ),
}
OWN_PROCESS = {"due", "verify", "backup", "restore"}
"""Commands that open a home: Django holds one for the life of a process."""
STANDS_FOR = {
    "aircraft.toml": "d1_club_aircraft.toml",
    "readings.toml": "d1_ground_run_second.toml",
    "looks.toml": "d2_wear.toml",
}
"""What a reader's own file is, when the docs are tried."""
EVIDENCE = """
[[sweeps]]
rpm = [1000, 1800, 2400]
reading = [1.6, 4.7, 5.0]

[[remarks]]
symptom = "gauge_fluctuates"
"""
"""A reader's evidence: such as any aircraft can have."""


def text(page: Path) -> str:
    return page.read_text(encoding="utf-8")


def blocks(page: Path) -> Iterator[tuple[str, str]]:
    """(language, body) of the fenced blocks, in order."""
    yield from FENCE.findall(text(page))


def commands(page: Path) -> list[str]:
    fenced = [line for language, body in blocks(page) if language == "" for line in body.splitlines()]
    made = page.is_relative_to(DOCS / "reference")
    shown = [*fenced, *(() if made else INDENTED.findall(FENCE.sub("", text(page))))]
    return [line for line in shown if line.startswith("vanewise ")]


def words(line: str) -> list[str]:
    return shlex.split(line, comments=True)[1:]


SHOWN = [(page, commands(page)) for page in PAGES]


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A reader's folder: the case's files, and files of the names the docs use."""
    for item in resources.files("vanewise.demo").iterdir():
        if item.name.endswith(".toml"):
            (tmp_path / item.name).write_bytes(item.read_bytes())
    for name, real in STANDS_FOR.items():
        shutil.copy(tmp_path / real, tmp_path / name)
    (tmp_path / "evidence.toml").write_text(EVIDENCE, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def seed_home(folder: Path) -> None:
    """``demo-out/home``, small."""
    (folder / "demo-out").mkdir()
    subprocess.run(
        [sys.executable, "-c", SEED, str(example("d1_club_aircraft.toml"))], cwd=folder / "demo-out", check=True
    )


PRINTED: dict[tuple[Path, str], str] = {}
"""What the command lines of a page printed, so that the quotes need not run them again."""


def output(page: Path, line: str, folder: Path) -> str:
    """What a command line of a page prints; it must end well."""
    PRINTED[page, line] = _output(line, folder)
    return PRINTED[page, line]


def _output(line: str, folder: Path) -> str:
    asked = words(line)
    if asked[0] in OWN_PROCESS:
        if "demo-out/home" in asked and not (folder / "demo-out").exists():
            seed_home(folder)
        done = process(*asked, folder=folder)
        assert done.returncode == 0, f"{line}\n{done.stderr}"
        return done.stdout
    ended = run(*asked)
    assert ended.exit_code == 0, f"{line}\n{ended.output}"
    return ended.output


def test_there_are_command_lines_to_run() -> None:
    shown = {words(line)[0] for _, lines in SHOWN for line in lines}
    assert shown >= {
        "validate",
        "sweep",
        "diagnose",
        "trace",
        "plan",
        "prove",
        "wear",
        "due",
        "verify",
        "backup",
        "serve",
    }


@pytest.mark.parametrize(
    ("page", "lines"),
    [pytest.param(page, lines, id=str(page.relative_to(ROOT))) for page, lines in SHOWN if lines],
)
def test_every_command_line_runs(page: Path, lines: list[str], folder: Path) -> None:
    for line in lines:
        name = words(line)[0]
        assert name in main.commands, line
        if name in NOT_RUN:
            known = {option for parameter in main.commands[name].params for option in parameter.opts}
            assert {word for word in words(line) if word.startswith("--")} <= known, line
        else:
            output(page, line, folder)


def quoted(page: Path) -> Iterator[tuple[str, str]]:
    """(command line, quoted line) for each line of a ``text`` block: the command is the last one shown before it."""
    last = ""
    for language, body in blocks(page):
        shown = [line for line in body.splitlines() if line.startswith("vanewise ")]
        last = shown[-1] if language == "" and shown else last
        if language == "text":
            assert last, f"{page}: output is quoted before any command"
            yield from ((last, line.strip()) for line in body.splitlines() if line.strip())


def plain(output: str) -> str:
    return " ".join(output.split())


@pytest.mark.parametrize(
    "page", [page for page in PAGES if list(quoted(page))], ids=lambda page: str(page.relative_to(ROOT))
)
def test_every_quoted_line_is_printed(page: Path, folder: Path) -> None:
    """Line breaks and columns may differ; words and numbers may not."""
    for line, wanted in quoted(page):
        printed = plain(PRINTED.get((page, line)) or output(page, line, folder))
        assert plain(wanted) in printed, f"{line}\nprints\n{printed}"


def toml(page: Path) -> list[str]:
    return [body for language, body in blocks(page) if language == "toml"]


def test_the_guide_to_diagnosis_shows_one_evidence_file() -> None:
    evidence = read_evidence("\n".join(toml(DOCS / "guides" / "diagnose.md")), "guide.toml")
    assert evidence.remarks and evidence.readings and evidence.events and evidence.checks and evidence.lamp_readings


def test_the_guide_to_proof_shows_a_readings_file() -> None:
    (shown,) = toml(DOCS / "guides" / "plan-and-prove.md")
    assert len(read_ground_run(shown, "guide.toml").readings) == 5


def test_the_guide_to_wear_shows_files_of_looks() -> None:
    look, length = toml(DOCS / "guides" / "watch-wear.md")
    assert read_wear(look, "guide.toml").history.readings[0].kind == "seen"
    head = look.partition("[[looks]]")[0]
    measured = read_wear(f"{head}\n{length}", "guide.toml").history.readings[0]
    assert measured.wear_fraction == pytest.approx((15.0 - 14.1) / (15.0 - 12.0))


def test_the_guide_to_studies_shows_one_that_is_read() -> None:
    (shown,) = toml(DOCS / "guides" / "study.md")
    asked = read_study(shown, "guide.toml", read_description(example("d1_club_aircraft.toml").read_text("utf-8"), "d1"))
    assert (asked.count, asked.groups) == (4500, 9)


def test_words_of_evidence_that_the_guides_name_are_known() -> None:
    known = {*SYMPTOMS, *EVENTS, *CHECKS, *MODES}
    files = {"minutes_after", "hours_ago", "hour_meter", "also_fitted", "duty_confirmed", "drive_ratio"}
    for page in (DOCS / "guides").glob("*.md"):
        named = set(re.findall(r"`([a-z]+(?:_[a-z]+)+)`", text(page)))
        assert named <= known | files, page.name


@pytest.mark.parametrize(
    ("page", "known"),
    [("commands.md", main.commands), ("modes.md", MODES), ("checks.md", CHECKS)],
    ids=["commands", "modes", "checks"],
)
def test_each_has_its_heading(page: str, known: dict[str, object]) -> None:
    headings = set(re.findall(r"^## (?:vanewise )?(\S+)$", text(DOCS / "reference" / page), re.MULTILINE))
    assert headings >= set(known)


@pytest.mark.parametrize(
    ("page", "known"), [("symptoms.md", SYMPTOMS), ("events.md", EVENTS)], ids=["symptoms", "events"]
)
def test_each_has_its_row(page: str, known: dict[str, object]) -> None:
    rows = set(re.findall(r'^\| <a id="(\w+)"></a>`\1` \|', text(DOCS / "reference" / page), re.MULTILINE))
    assert rows == set(known)


LINK = re.compile(r"\[[^\]]*\]\(([^)\s]*)#([^)\s]+)\)")


def anchors(page: Path) -> set[str]:
    """What a link into a page may name: its headings as they are slugged, and anchors written out."""
    body = FENCE.sub("", text(page))
    headings = re.findall(r"^#+ (.+)$", body, re.MULTILINE)
    slugs = {re.sub(r"[^\w\- ]", "", heading.lower()).strip().replace(" ", "-") for heading in headings}
    return slugs | set(re.findall(r'<a id="([^"]+)">', body))


@pytest.mark.parametrize("page", PAGES, ids=lambda page: str(page.relative_to(ROOT)))
def test_links_into_pages_meet_a_heading(page: Path) -> None:
    lost = []
    for target, anchor in LINK.findall(FENCE.sub("", text(page))):
        if "://" in target:
            continue
        meant = (page.parent / target).resolve() if target else page
        if meant.suffix == ".md" and anchor not in anchors(meant):
            lost.append(f"{target}#{anchor}")
    assert lost == []
