"""The record draft and the tags, on a whole package of an invented aircraft."""

from __future__ import annotations

import datetime
import tomllib
from pathlib import Path
from typing import Any

import msgspec
import pytest

from tests.contracts.looks_answered import all_answers, all_photos
from vanewise.aircraft.layouts import make
from vanewise.contamination import Closure, SheddingEvent, trace
from vanewise.diagnosis.words import NO_FAULT_NAMED
from vanewise.errors import InputError, Locked
from vanewise.groundrun import GroundRunVerdict, PointVerdict
from vanewise.record.entry import DRAFT, Hours, draft, limit_line
from vanewise.record.jurisdiction import Jurisdiction, read_pack
from vanewise.record.tags import QR_MOST, filter_tag, hose_end_tags, part_tag, removed_tag
from vanewise.watch.due import Now, due_items
from vanewise.watch.types import Limit, Work
from vanewise.work.plan import plan
from vanewise.work.types import FittingRecord, JobLog, Override, PartDocument, WorkPackage

PACKS = Path(__file__).resolve().parents[2] / "src" / "vanewise" / "record" / "packs"
TODAY = datetime.date(2025, 3, 15)
HOURS = Hours(tach_centihours=298_390, total_centihours=298_390)


@pytest.fixture(scope="module")
def rules() -> Jurisdiction:
    return read_pack((PACKS / "united_states.toml").read_text(encoding="utf-8"), "united_states.toml")


@pytest.fixture(scope="module")
def package() -> WorkPackage:
    description = make("suction-one-pump")
    scope = trace(description, None, SheddingEvent(part="pump", kind="stop", altitude_m=1676.0))
    return plan(description, "debris_left_in_lines", scope, today=TODAY, place="pump")


def whole_log(package: WorkPackage) -> JobLog:
    """Everything a careful shop would have written."""
    assert package.scope is not None
    closures = tuple(
        Closure(
            suspect=suspect.id,
            how=suspect.closures[0],
            method="new part",
            proof="white cloth clean",
            by="A. Person",
            when=TODAY,
            answers=suspect.events,
        )
        for suspect in package.scope.suspects
    )
    documents = {
        need.partition(":")[2]: PartDocument(
            part=need.partition(":")[2],
            serial_on_part="S-17",
            serial_on_document="S-17",
            status="overhauled",
            dated=TODAY,
            signed=True,
            reference="W-204",
            test_figures="page 2",
            report="nothing found inside",
            report_read_by="A. Person",
        )
        for gate in package.gates
        for need in gate.needs
        if need.startswith("documents:")
    }
    return JobLog(
        package=package.id,
        done=tuple(task.id for task in package.tasks if not task.only_if and task.id not in ("record", "close-up")),
        counts_out={count.id: count.expected or 4 for count in package.counts},
        counts_in={count.id: count.expected or 4 for count in package.counts},
        closures=closures,
        findings=("one vane corner that fits none of this pump's vanes",),
        connections={tag.line: tag.ends for tag in package.hose_tags},
        fittings={f.id: msgspec.structs.replace(f, clock_deg=120.0) for f in package.fittings},
        turns={f.id: 0.75 for f in package.fittings},
        fitted_parts=dict.fromkeys(documents, "S-17, overhauled, W-204"),
        torques={line.id: "as the maker's sheet, wrench 12, checked 2024-11" for line in package.torques},
        documents=documents,
        left_out={task.id: "the run was within its band" for task in package.tasks if task.only_if},
        tags_hung=tuple((tag.number, end) for tag in package.hose_tags for end in tag.ends if "." in end),
        looks=all_answers(package),
        photos=all_photos(package),
    )


def verdict(overall: Any = "pass") -> GroundRunVerdict:
    point = PointVerdict(
        what="gauge at 1,800 rpm", verdict=overall, margin="0.2 inHg", reading="4.7", expected="4.5 to 4.9"
    )
    return GroundRunVerdict(overall=overall, points=(point,), remarks=())


def write(
    package: WorkPackage, log: JobLog, rules: Jurisdiction, run: GroundRunVerdict | None = None, **more: Any
) -> Any:
    settings = {"drafted_on": TODAY, "completed_on": TODAY, "hours": HOURS, "head_digest": "ab" * 32, **more}
    return draft(package, log, verdict() if run is None else run, rules, **settings)


def test_a_whole_job_becomes_a_draft_with_blanks_only_a_person_fills(package: WorkPackage, rules: Jurisdiction) -> None:
    record = write(package, whole_log(package), rules)
    assert record.text.startswith(DRAFT)
    assert record.missing == (
        "name of the person who did the work, if another person signs",
        "signature",
        "certificate number",
        "kind of certificate",
    )
    by_name = {field.name: field for field in record.fields}
    assert all(by_name[name].text == "" for name in record.missing)
    assert by_name["date completed"].text == "2025-03-15"
    assert "14 CFR 43.9(a)(1)" in by_name["description of work"].required_by
    assert "14 CFR 43.9(a)(4)" in by_name["signature"].required_by


def test_the_wording_is_built_from_what_was_planned_and_logged(package: WorkPackage, rules: Jurisdiction) -> None:
    record = write(package, whole_log(package), rules)
    for words in (
        "One vane corner that fits none of this pump's vanes.",
        "serial S-17, overhauled, document W-204",
        "proof: white cloth clean; A. Person, 2025-03-15.",
        "lines reconnected to the ends on the map and confirmed.",
        "0.75 turn past hand-tight.",
        "Pad nuts: 4 out, 4 back.",
        "Gauge at 1,800 rpm: read 4.7, expected 4.5 to 4.9, pass, margin 0.2 inHg.",
        "1 h after this work, at 2,984.9 h tach",
        "ab" * 32,
        "not yet checked by a local person",
    ):
        assert words in record.text, words
    for task in package.tasks:
        if task.id not in ("record", "close-up") and not task.only_if:
            assert task.title in record.text


def test_no_fault_found_is_drafted_as_no_finding_that_it_is_fit(rules: Jurisdiction) -> None:
    """The draft of an entry is read by whoever flies next."""
    package = plan(make("suction-one-pump"), "nothing_wrong", None, today=TODAY)
    log = JobLog(
        package=package.id,
        done=tuple(task.id for task in package.tasks if task.id not in ("record", "close-up")),
        looks=all_answers(package),
        photos=all_photos(package),
    )
    text = draft(package, log, None, rules, drafted_on=TODAY, completed_on=TODAY, hours=HOURS, head_digest="ab").text
    cause = text[text.index("Cause\n") :].splitlines()[1]
    assert cause == NO_FAULT_NAMED and "no finding that it is fit to fly" in cause


def test_the_photographs_taken_are_listed_with_the_number_that_finds_them(
    package: WorkPackage, rules: Jurisdiction
) -> None:
    log = whole_log(package)
    text, photos = write(package, log, rules).text, log.photos
    assert photos and "Photographs, kept with the job by number" in text
    assert all(f"({photo.id})" in text for photo in photos)


def test_a_draft_never_declares_airworthy_and_never_signs(package: WorkPackage, rules: Jurisdiction) -> None:
    text = write(package, whole_log(package), rules).text.lower()
    assert "airworthy" not in text
    assert "signature: ____" in text
    assert "only for the work described" in text


def test_it_is_refused_while_anything_is_open(package: WorkPackage, rules: Jurisdiction) -> None:
    with pytest.raises(Locked) as caught:
        write(package, JobLog(package=package.id), rules, verdict("not shown"))
    places = [problem.where for problem in caught.value.problems]
    assert places[0] == "tasks" and places[-1] == "ground run"
    assert len(places) > 3
    assert all(problem.next_step for problem in caught.value.problems)


@pytest.mark.parametrize("overall", ["fail", "not shown"])
def test_a_run_that_is_no_pass_needs_a_name_and_a_reason(
    package: WorkPackage, rules: Jurisdiction, overall: str
) -> None:
    log = whole_log(package)
    with pytest.raises(Locked, match=overall):
        write(package, log, rules, verdict(overall))
    nameless = Override(what="ground run", name=" ", reason="because")
    with pytest.raises(Locked):
        write(package, log, rules, verdict(overall), proof_override=nameless)
    named = Override(what="ground run", name="B. Person", reason="gauge found 0.3 inHg low against a calibrated one")
    record = write(package, log, rules, verdict(overall), proof_override=named)
    assert f"Ground run: {overall}." in record.text
    assert "Ground run passed by B. Person: Gauge found 0.3 inHg low" in record.text


def test_a_gate_passed_by_override_is_written_down(package: WorkPackage, rules: Jurisdiction) -> None:
    log = whole_log(package)
    gate = next(gate for gate in package.gates if any(need.startswith("suspect:") for need in gate.needs))
    opened = msgspec.structs.replace(log, closures=log.closures[:-1])
    with pytest.raises(Locked):
        write(package, opened, rules)
    passed = msgspec.structs.replace(
        opened, overrides=(Override(what=gate.id, name="B. Person", reason="line replaced"),)
    )
    assert "passed by B. Person: Line replaced." in write(package, passed, rules).text


def test_no_date_is_asked_for_and_another_log_is_refused(package: WorkPackage, rules: Jurisdiction) -> None:
    record = write(package, whole_log(package), rules, completed_on=None)
    assert record.missing[0] == "date the work was completed"
    with pytest.raises(Locked, match="job log"):
        write(package, msgspec.structs.replace(whole_log(package), package="other"), rules)


def test_the_same_job_gives_the_same_bytes(package: WorkPackage, rules: Jurisdiction) -> None:
    log = whole_log(package)
    assert msgspec.json.encode(write(package, log, rules)) == msgspec.json.encode(write(package, log, rules))


FILTER = Limit(
    item="central filter", nature="custom", source="common practice, no source", hours_centi=50_000, calendar_months=12
)
FITTED = Work(item="central filter", kind="fitted", date=TODAY, tach_centihours=298_390)


def next_due() -> tuple[Any, ...]:
    return due_items([FILTER], [FITTED], Now(today=TODAY, tach_centihours=298_390))


def test_limits_say_by_when_and_whose_word_it_is(package: WorkPackage, rules: Jurisdiction) -> None:
    expected = "Central filter: next by 3,483.9 h tach or 2026-03-31 (not mandatory, common practice, no source)."
    assert limit_line(next_due()[0]) == expected
    assert expected in write(package, whole_log(package), rules, due=next_due()).text


def test_a_filter_tag_has_hours_date_and_when_to_do_it_next() -> None:
    tag = filter_tag("club aircraft", "central filter", HOURS, TODAY, next_due(), by="A. Person")
    assert dict(tag.lines)["fitted"] == "2025-03-15 at 2,983.9 h tach"
    assert "3,483.9 h tach or 2026-03-31" in dict(tag.lines)["next"]
    assert "2026-03-31" in tag.qr and tag.qr.startswith("filter fitted: Central filter")


def test_a_removed_part_keeps_its_story() -> None:
    tag = removed_tag("club aircraft", "pump", HOURS, TODAY, reason="coupling sheared", serial="S-9", seen="chips")
    assert dict(tag.lines)["why"] == "coupling sheared"
    assert tag.lines[-1][0] == "not to be fitted"
    with pytest.raises(InputError, match="why the part came off"):
        removed_tag("club aircraft", "pump", HOURS, TODAY, reason=" ")


def test_both_ends_of_every_line_carry_the_same_number(package: WorkPackage) -> None:
    tags = hose_end_tags(package.aircraft, package.hose_tags)
    by_number: dict[str, list[dict[str, str]]] = {}
    for tag in tags:
        by_number.setdefault(tag.title, []).append(dict(tag.lines))
    assert len(by_number) == len(package.hose_tags)
    for ends in by_number.values():
        if len(ends) == 2:
            assert ends[0]["this end"] == ends[1]["other end"]
        else:
            assert ends[0]["other end"] in ("engine bay", "cabin")


def test_a_qr_text_never_grows_beyond_what_prints() -> None:
    tag = part_tag("club aircraft", "pump", HOURS, TODAY, serial="S" * 100, document="D" * 900, by="A. Person")
    assert len(tag.qr) <= QR_MOST
    assert tag.qr.endswith("more on the tag")
    assert dict(tag.lines)["document"] == "D" * 900


def test_the_pack_prints_no_number_whose_text_was_not_read(rules: Jurisdiction) -> None:
    text = (PACKS / "united_states.toml").read_text(encoding="utf-8")
    data = tomllib.loads(text.replace("text_read = true", "text_read = false"))
    unread = read_pack(text.replace("text_read = true", "text_read = false"), "pack")
    assert all("CFR" not in duty.told for duty in unread.duties)
    assert len(data["duties"]) == 6 == len(rules.duties)
    assert all(limit.is_mandatory for limit in rules.limits)


@pytest.mark.parametrize(
    ("change", "found"),
    [
        (('nature = "regulation"', 'nature = "custom"'), "custom"),
        (('field = "date"', 'field = "colour"'), "colour"),
        (("calendar_months = 12", "calender_months = 12"), "calender_months"),
        (("as_of = 2008-01-01", "as_of = 'last year'"), "as_of"),
        (('name = "United', "name = United"), ""),
    ],
)
def test_a_pack_that_says_what_it_may_not_is_refused(change: tuple[str, str], found: str) -> None:
    text = (PACKS / "united_states.toml").read_text(encoding="utf-8")
    with pytest.raises(InputError) as caught:
        read_pack(text.replace(*change), "pack")
    assert found in str(caught.value)


def test_the_empty_template_is_refused_until_filled_in() -> None:
    text = (PACKS / "template.toml").read_text(encoding="utf-8")
    assert tomllib.loads(text)["name"] == ""
    with pytest.raises(InputError):
        read_pack(text, "template.toml")


def test_an_unknown_fitting_record_is_not_written(package: WorkPackage, rules: Jurisdiction) -> None:
    log = msgspec.structs.replace(whole_log(package), fittings={"other": FittingRecord(id="other", port="x")})
    if package.fittings:
        with pytest.raises(Locked, match="angle not written"):
            write(package, log, rules)
