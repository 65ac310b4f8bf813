"""The demo: the invented club aircraft's case, played through all ten stages with the same jobs a person uses.

Its files are in this folder. Dates are those of the story, so the demo reads the same on any day. A home folder that
holds the case already is opened, not played again.
"""

from __future__ import annotations

import datetime
import shutil
import tomllib
from collections.abc import Callable, Mapping
from functools import cache
from importlib import resources
from pathlib import Path
from typing import Any, Final

import msgspec

from vanewise.errors import wrong
from vanewise.jobs import words
from vanewise.jobs.answers import Answer, to_json
from vanewise.jobs.files import write_all
from vanewise.jobs.shapes import Conclusion, Played

MARK: Final = "this-is-the-demo"
CASE: Final = "case"
"""Folder, beside the home, that the case's own files are copied to."""
WHOLE: Final = "the-demo-was-played-through"
AUTHOR: Final = "mechanic of the demo"
TODAY: Final = datetime.date(2025, 3, 8)
WORKED_AT: Final = "2025-03-07T15:00:00Z"
Say = Callable[[str], Any]


def text_of(name: str) -> str:
    """The text of one of the demo's files."""
    return resources.files("vanewise.demo").joinpath(name).read_text(encoding="utf-8")


@cache
def story() -> Mapping[str, Any]:
    return tomllib.loads(text_of("d1_story.toml"))


def play(out: Path, *, fresh: bool = False, say: Say | None = None) -> Answer:
    """Play the case into ``out``: its home folder, its files, the printed pages, and what was concluded.

    A case that was played through is left as it is; one that was broken off is played anew.
    """
    from vanewise.jobs.kept import open_home
    from vanewise.store import journal

    home = out / "home"
    _refuse_foreign(home)
    if home.exists() and (fresh or not (home / WHOLE).exists()):
        shutil.rmtree(home)
    home.mkdir(mode=0o700, parents=True, exist_ok=True)
    (home / MARK).touch()
    tell = say or (lambda text: None)
    open_home(home)
    rows = journal.aircraft_rows()
    if rows:
        tell(f"The case is in {home} already; --fresh plays it anew.")
        return Answer(data=Played(home=str(home), played=False, aircraft=rows[0][0]), words="")
    answer = _Play(home, out, tell).through()
    (home / WHOLE).touch()
    return answer


def _refuse_foreign(home: Path) -> None:
    if home.exists() and any(home.iterdir()) and not (home / MARK).exists():
        raise wrong(str(home), "an empty folder, or one of an earlier demo", "other files", "choose another --out")


class _Play:
    """One run through the stages. Each method is one stage, named as in ``pipeline``."""

    def __init__(self, home: Path, out: Path, tell: Say):
        self.home = home
        self.out = out
        self.tell = tell
        self.files: dict[str, bytes] = {}
        self.causes: list[Conclusion] = []
        self.suspects: tuple[str, ...] = ()
        self.due: tuple[str, ...] = ()
        self.package = ""
        self.aircraft = ""
        self.job = ""
        self.report = ""

    def through(self) -> Answer:
        self.describe()
        self.solve()
        for report in story()["reports"]:
            self.observe_and_infer(report)
        self.trace()
        self.plan()
        self.do(_steps("steps"))
        first = self.prove("d1_ground_run_first.toml")
        self.do(_steps("after_first_run"), only=("regulator-set",))
        second = self.prove("d1_ground_run_second.toml")
        self.do(_steps("after_first_run"))
        self.write()
        self.watch()
        written = sorted(self.files)
        write_all(self.out, {**self.files, **_case()})
        self.tell(f"\nWritten to {self.out}: {', '.join(written)}; the case's own files in {CASE}")
        played = Played(
            home=str(self.home),
            played=True,
            aircraft=self.aircraft,
            causes=tuple(self.causes),
            suspects=self.suspects,
            package=self.package,
            first_run=first,
            second_run=second,
            due=self.due,
            files=tuple(written),
        )
        return Answer(data=played, words=f"Look at it in a browser: vanewise serve --home {self.home}")

    def stage(self, number: int, title: str, text: str) -> None:
        self.tell(f"\n{number}. {title}\n{text}")

    def book(self) -> Any:
        from vanewise.jobs.casebook import open_book

        return open_book(self.aircraft)

    def describe(self) -> None:
        from vanewise.jobs import aircraft

        text = text_of("d1_club_aircraft.toml")
        self.aircraft = aircraft.keep(text, author=AUTHOR, at="2020-06-20T09:00:00Z")
        from vanewise.jobs import compute

        self.stage(1, "Describe", compute.validate(text, "d1_club_aircraft.toml").words)

    def solve(self) -> None:
        from vanewise.jobs import compute

        answer = compute.sweep(
            text_of("d1_club_aircraft.toml"), "d1_club_aircraft.toml", rpm="700,1000,1200,1500,1800,2100,2400"
        )
        self.files["sweep.json"] = to_json(answer).encode()
        self.stage(2, "Solve: what this aircraft should read while sound", answer.words)

    def observe_and_infer(self, report: Mapping[str, Any]) -> None:
        from vanewise.jobs import causes, evidence
        from vanewise.jobs.evidence_file import items_of

        items, sound, conditions = items_of(text_of(report["evidence"]), report["evidence"])
        at = f"{report['when']}T18:00:00Z"
        if not self.report:
            evidence.add(self.aircraft, "", sound, author=AUTHOR, at=at)
        self.report = evidence.open_report(
            self.aircraft,
            report["words"],
            author="club pilot",
            when=str(report["when"]),
            altitude=conditions.get("altitude", ""),
            temperature=conditions.get("temperature", ""),
            at=at,
        )
        evidence.add(self.aircraft, self.report, items, author=AUTHOR, at=at)
        causes.request(self.aircraft, self.report, author=AUTHOR, at=at)
        book = self.book()
        latest = causes.latest(book, book.report(self.report))
        assert latest is not None
        name = report["evidence"].removesuffix(".toml").replace("evidence", "causes")
        answer = Answer(data=latest[0], words=words.caused(latest[0]))
        self.files[f"{name}.json"] = to_json(answer).encode()
        self.causes.append(
            Conclusion(evidence=report["evidence"], undecided=latest[0].undecided, group=latest[0].group)
        )
        self.stage(
            3, f"Observe, {report['when']}", words.wrapped(f'"{report["words"]}" {len(items)} items of evidence.')
        )
        self.stage(4, "Infer", answer.words)

    def trace(self) -> None:
        from vanewise.jobs import tracing

        for event in story()["shed"]:
            tracing.add_event(self.aircraft, self.report, event, author=AUTHOR, at="2025-03-01T10:00:00Z")
        for front in story()["fronts"]:
            tracing.add_finding(self.aircraft, self.report, front, author=AUTHOR, at="2025-03-01T11:00:00Z")
        book = self.book()
        scope = tracing.scope_of(book, book.report(self.report))
        assert scope is not None
        answer = Answer(data=scope, words=words.scoped(scope))
        self.files["scope.json"] = to_json(answer).encode()
        self.suspects = scope.suspect_ids
        self.stage(5, "Trace: what got dirty", answer.words)

    def plan(self) -> None:
        from vanewise.jobs import work
        from vanewise.prints import hose_map_pdf, tags_pdf, work_package_pdf
        from vanewise.record.tags import hose_end_tags

        package = work.make_package(
            self.aircraft, self.report, "", author=AUTHOR, today=datetime.date(2025, 3, 1), at="2025-03-01T12:00:00Z"
        )
        self.job = package.id[:12]
        self.files["work-package.pdf"] = work_package_pdf(package)
        self.files["hose-map.pdf"] = hose_map_pdf(package)
        tags = hose_end_tags(package.aircraft, package.hose_tags)
        self.files["hose-tags.pdf"] = tags_pdf(tags, dated=package.made_on)
        self.package = package.id
        self.stage(6, "Plan", words.planned(package))

    def do(self, steps: list[Mapping[str, Any]], only: tuple[str, ...] = ()) -> None:
        from vanewise.demo.steps import entries
        from vanewise.jobs import work

        package = work.job(self.book(), self.job).package
        count = 0
        for what, particulars in entries(package, steps):
            if only and particulars.get("task") not in only:
                continue
            if particulars.get("task") in work.job(self.book(), self.job).log.done:
                continue
            count += 1
            if what == "photograph":
                self.photograph(particulars)
                continue
            work.do(
                self.aircraft,
                self.job,
                what,
                particulars,
                author=AUTHOR,
                expected_head=self.book().head,
                at=WORKED_AT,
            )
        job = work.job(self.book(), self.job)
        gates = [f"{gate.gate.title}: {'passed' if gate.is_open else 'holds'}" for gate in job.gates]
        self.stage(7, f"Do: {count} ticks, counts and closures kept", words.bullets(gates))

    def photograph(self, said: Mapping[str, Any]) -> None:
        from vanewise.demo.pictures import drawn
        from vanewise.jobs import photos

        about = str(said["about"])
        photos.take(
            self.aircraft,
            self.job,
            drawn(about),
            about=about,
            moment=str(said["moment"]),
            author=AUTHOR,
            at=WORKED_AT,
        )

    def prove(self, readings: str) -> str:
        from vanewise.groundrun.reading import read_ground_run
        from vanewise.jobs import groundrun
        from vanewise.prints import ground_run_card_pdf

        text = text_of(readings)
        file = tomllib.loads(text)
        read_ground_run(text, readings)
        at = "2025-03-08T09:00:00Z"
        run = groundrun.predict(
            self.aircraft,
            author=AUTHOR,
            package=self.package,
            altitude=file["altitude"],
            temperature=file["temperature"],
            gauge_proved=file["gauge_compared_within"],
            changed=tuple(file["changed"]),
            at=at,
        )
        groundrun.read_off(self.aircraft, run, _run_items(file), author=AUTHOR, at=at)
        groundrun.keep_verdict(self.aircraft, run, author=AUTHOR, at=at)
        found = groundrun.run(self.book(), run)
        verdict = groundrun.verdict(found)
        if verdict.overall == "pass":
            groundrun.keep_baseline(self.aircraft, run, author=AUTHOR, when=TODAY.isoformat(), at=at)
        self.files["ground-run-card.pdf"] = ground_run_card_pdf(
            found.plan, aircraft=self.book().name, dated=TODAY, package=self.package
        )
        self.stage(8, f"Prove: {file['title']}", words.proved(found.plan, verdict))
        return verdict.overall

    def write(self) -> None:
        from vanewise.jobs import due_limits, meters, records, work
        from vanewise.prints import record_pdf, tags_pdf

        said, at = story()["record"], "2025-03-08T12:00:00Z"
        meters.add_meters(self.aircraft, tach=said["tach"], hour_meter="", date=TODAY.isoformat(), author=AUTHOR, at=at)
        for item in story()["limits"]:
            due_limits.add_limit(self.aircraft, item, author=AUTHOR, at=at)
        for met in story()["met"]:
            due_limits.add_done(self.aircraft, met["item"], date=met["date"], tach=met["tach"], author=AUTHOR, at=at)
        self.refit()
        records.keep_draft(self.aircraft, self.job, author=AUTHOR, today=TODAY, at=at, **said)
        book = self.book()
        _, record = records.records_of(book, self.package)[-1]
        self.files["record.pdf"] = record_pdf(record)
        hours = records.meter_hours(said["tach"], "")
        tags = records.tags(book, work.job(book, self.job), hours, TODAY)
        self.files["tags.pdf"] = tags_pdf([tag for tag in tags if tag.kind != "hose end"], dated=TODAY)
        self.stage(9, "Write: a draft, not signed", record.text)

    def refit(self) -> None:
        """The aircraft as it stands now: what was fitted, from this day on."""
        from vanewise.aircraft.description import Fitted
        from vanewise.aircraft.writing import write_description
        from vanewise.jobs import aircraft
        from vanewise.quantities import to_centihours

        tach = to_centihours(story()["record"]["tach"], "tach")
        new = {said["part"]: said for said in story()["fitted"]}
        book = self.book()
        parts = []
        for part in book.description.parts:
            said = new.get(part.id)
            if said is None:
                parts.append(part)
                continue
            fitted = Fitted(
                date=TODAY, tach_centihours=tach, serial=said.get("serial", ""), condition=said["condition"]
            )
            parts.append(msgspec.structs.replace(part, name=said.get("name", part.name), fitted=fitted))
        changed = msgspec.structs.replace(book.description, parts=tuple(parts), valid_from=TODAY)
        aircraft.describe_again(
            self.aircraft,
            write_description(changed),
            author=AUTHOR,
            why="pump C and a new central filter fitted",
            expected_head=book.head,
            at="2025-03-08T11:00:00Z",
        )

    def watch(self) -> None:
        from vanewise.jobs import watch, wear

        book = self.book()
        due = watch.due(book, TODAY)
        lines = [words.bullets(f"{item.item}: {item.left}. {item.why}" for item in due)]
        forecast = wear.forecast(book, "pump", TODAY)
        if forecast is not None:
            lines.append(words.worn("pump C", forecast))
        self.due = tuple(item.item for item in due)
        self.stage(10, "Watch: what next, by when, why", "\n".join(lines))


def _case() -> dict[str, bytes]:
    """The case's own files, so that a person can try the commands on them."""
    folder = resources.files("vanewise.demo")
    return {f"{CASE}/{item.name}": item.read_bytes() for item in folder.iterdir() if item.name.endswith(".toml")}


def _steps(key: str) -> list[Mapping[str, Any]]:
    return list(tomllib.loads(text_of("d1_job.toml"))[key])


def _run_items(file: Mapping[str, Any]) -> list[dict[str, str]]:
    """The readings of a ground-run file as the items a person enters."""
    items = [
        {"what": "gauge", "rpm": f"{rpm} rpm", "value": value, "direction": direction}
        for direction in ("rising", "falling")
        for rpm, value in file.get(direction, {}).items()
    ]
    return [*items, *({key: str(value) for key, value in seen.items()} for seen in file.get("seen", ()))]
