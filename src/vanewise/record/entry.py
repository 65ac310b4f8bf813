"""The draft of a maintenance record entry, built from the work package, the job log, the proof and the limits.

Wording is taken from what was planned and logged, never typed twice. The draft has a blank place for every thing that
only a person can give: name, signature, certificate number and kind. It approves nothing.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Iterator, Sequence

import msgspec

from vanewise.contamination.closure import suspect_states
from vanewise.diagnosis.modes import NOTHING_WRONG
from vanewise.diagnosis.words import NO_FAULT_NAMED
from vanewise.errors import Locked, Problem
from vanewise.groundrun import GroundRunVerdict
from vanewise.record.jurisdiction import Jurisdiction
from vanewise.record.types import MaintenanceRecord, RecordField
from vanewise.watch.meters import text as hours_text
from vanewise.watch.types import DueItem
from vanewise.watch.utilisation import span_words
from vanewise.wording import capital, sentence
from vanewise.work.gates import gate_states
from vanewise.work.types import JobLog, Override, PartDocument, WorkPackage

DRAFT = "This is a draft. A certificated person signs."
BLANK = ""
AFTER_THE_RECORD = ("record", "close-up")
"""Tasks that come after the draft is made."""
PROOF = "ground run"
"""What an override of the proof is about."""

_ASKED = {
    "worker": "name of the person who did the work, if another person signs",
    "signature": "signature",
    "certificate number": "certificate number",
    "certificate kind": "kind of certificate",
}


class Hours(msgspec.Struct, frozen=True, kw_only=True):
    """What the meters showed and what that makes in total, in hundredths of an hour."""

    tach_centihours: int | None = None
    hour_meter_centihours: int | None = None
    total_centihours: int | None = None


def draft(
    package: WorkPackage,
    log: JobLog,
    verdict: GroundRunVerdict | None,
    rules: Jurisdiction,
    *,
    drafted_on: datetime.date,
    completed_on: datetime.date | None,
    hours: Hours,
    head_digest: str,
    due: Sequence[DueItem] = (),
    proof_override: Override | None = None,
    added: Sequence[str] = (),
) -> MaintenanceRecord:
    """The draft entry for one package.

    ``due``: the limits of what was fitted or done, as they stand after it. ``added``: what the person wants to add, one
    paragraph each. ``proof_override`` passes a run that failed or was not shown, by name and with a reason (``what``
    must be ``ground run``).

    Raises :class:`Locked` while tasks or gates are open, or the proof is not a pass and nobody overrode it; its
    problems name everything that is missing.
    """
    problems = [*_open_work(package, log), *_open_proof(package, verdict, proof_override)]
    if problems:
        raise Locked(problems)
    paragraphs = tuple(
        (title, "\n".join(lines))
        for title, lines in _sections(package, log, verdict, hours, due, proof_override, added)
        if lines
    )
    description = "\n\n".join(f"{title}\n{body}" for title, body in paragraphs)
    fields = _fields(package, rules, description, completed_on, hours)
    missing = tuple(_ASKED[duty.field] for duty in rules.duties if duty.field in _ASKED)
    if completed_on is None:
        missing = ("date the work was completed", *missing)
    return MaintenanceRecord(
        aircraft=package.aircraft,
        fields=fields,
        missing=missing,
        text=_text(package, rules, fields, head_digest, drafted_on),
        package=package.id,
        head_digest=head_digest,
        drafted_on=drafted_on,
        beside_signature=_beside_signature(rules),
    )


def _open_work(package: WorkPackage, log: JobLog) -> Iterator[Problem]:
    if log.package != package.id:
        yield Problem(
            where="job log",
            expected=f"the log of package {package.id[:12]}",
            found=f"the log of package {log.package[:12] or 'none'}",
            next_step="open the log that belongs to this package",
        )
    finished = {*log.done, *log.left_out, *AFTER_THE_RECORD}
    waiting = [task.title for task in package.tasks if task.id not in finished and not task.only_if]
    if waiting:
        yield Problem(
            where="tasks",
            expected="every task done",
            found=f"{len(waiting)} open: {'; '.join(waiting)}",
            next_step="do them and tick them; a task without which the work is whole is planned anew, not skipped",
        )
    for state in gate_states(package, log):
        if not state.is_open:
            yield Problem(
                where=state.gate.title,
                expected="; ".join(state.missing),
                found=f"{len(state.missing)} open",
                next_step=f"close them; or an override by {state.gate.override_by}",
            )


def _open_proof(package: WorkPackage, verdict: GroundRunVerdict | None, override: Override | None) -> Iterator[Problem]:
    if verdict is None and not any(task.id == "ground-run" for task in package.tasks):
        return
    overall = "not shown" if verdict is None else verdict.overall
    named = override is not None and override.what == PROOF and override.name.strip() and override.reason.strip()
    if overall == "pass" or named:
        return
    points = [] if verdict is None else [p.what for p in verdict.points if p.verdict == overall]
    yield Problem(
        where=PROOF,
        expected="a pass at every point",
        found=f"{overall}{': ' + '; '.join(points) if points else ''}",
        next_step=(
            "find out why and run again; or an override by the certificated person responsible, by name and reason"
            if overall == "fail"
            else "take the missing readings; or an override by the certificated person responsible, by name and reason"
        ),
    )


def _sections(
    package: WorkPackage,
    log: JobLog,
    verdict: GroundRunVerdict | None,
    hours: Hours,
    due: Sequence[DueItem],
    proof_override: Override | None,
    added: Sequence[str],
) -> Iterator[tuple[str, list[str]]]:
    yield "Cause", list(_cause(package))
    yield "Found", [sentence(finding) for finding in log.findings]
    yield (
        "Done, by the titles of the work package",
        [sentence(task.title) for task in package.tasks if task.id in log.done],
    )
    yield "Left out", [sentence(f"{package.task(task).title}: {why}") for task, why in log.left_out.items()]
    yield "Fitted", list(_fitted(log))
    yield "Cleaned, replaced or returned", list(_closed(package, log))
    yield "Lines", list(_lines(package, log))
    yield "Fittings and torque", list(_fittings(package, log))
    yield "Counts", list(_counts(package, log))
    yield "Photographs, kept with the job by number", list(_photographs(log))
    yield "Proof", list(_proof(verdict, proof_override))
    yield "Passed by override", [_override(entry) for entry in log.overrides]
    yield "Limits", [limit_line(item) for item in due]
    yield (
        "To look at again",
        [f"{_after(look.after_hours, hours)}: {look.what}." for look in package.follow_ups if log.done],
    )
    yield "Added", [sentence(line) for line in added]


def _cause(package: WorkPackage) -> Iterator[str]:
    if package.cause == NOTHING_WRONG.id:
        yield NO_FAULT_NAMED
    else:
        yield f"{capital(package.cause_name)}{f' ({_name(package.place)})' if package.place else ''}."


def _fitted(log: JobLog) -> Iterator[str]:
    for part, identity in log.fitted_parts.items():
        document = log.documents.get(part)
        yield f"{capital(_name(part))}: {_document(document) if document else identity}."


def _document(document: PartDocument) -> str:
    parts = [f"serial {document.serial_on_part}", document.status, f"document {document.reference}"]
    if document.dated is not None:
        parts.append(f"dated {document.dated}")
    if document.test_figures.strip():
        parts.append(f"test figures: {document.test_figures}")
    return ", ".join(part for part in parts if part.strip())


def _closed(package: WorkPackage, log: JobLog) -> Iterator[str]:
    if package.scope is None:
        return
    for state in suspect_states(package.scope, log.closures):
        closure = state.closure
        if closure is not None and not state.is_open:
            who = f"{closure.by}, {closure.when}" if closure.when else closure.by
            yield f"{capital(state.label)}: {closure.how}, {closure.method}; proof: {closure.proof}; {who}."


def _lines(package: WorkPackage, log: JobLog) -> Iterator[str]:
    confirmed = [tag for tag in package.hose_tags if set(log.connections.get(tag.line, ())) == set(tag.ends)]
    if confirmed:
        yield f"{len(confirmed)} of {len(package.hose_tags)} lines reconnected to the ends on the map and confirmed."


def _fittings(package: WorkPackage, log: JobLog) -> Iterator[str]:
    for fitting in package.fittings:
        record, turns = log.fittings.get(fitting.id), log.turns.get(fitting.id)
        said = []
        if record is not None and record.clock_deg is not None:
            said.append(f"at {record.clock_deg:g} degrees ({record.zero})")
        if turns is not None:
            said.append(f"{turns:g} turn past hand-tight")
        if said:
            yield f"Fitting at {_name(fitting.port)}: {', '.join(said)}."
    for line in package.torques:
        if line.id in log.torques:
            yield f"{capital(line.what)}: {log.torques[line.id]}."


def _photographs(log: JobLog) -> Iterator[str]:
    """What pictures there are of each thing, with the number that finds each again."""
    taken: dict[str, list[str]] = {}
    for photo in log.photos:
        taken.setdefault(photo.about, []).append(f"{photo.moment} ({photo.id})")
    for about, pictures in taken.items():
        yield f"{capital(_name(about))}: {', '.join(pictures)}."


def _counts(package: WorkPackage, log: JobLog) -> Iterator[str]:
    for count in package.counts:
        if count.id in log.counts_out:
            back = log.counts_in.get(count.id)
            yield f"{capital(count.what)}: {log.counts_out[count.id]} out, {'none' if back is None else back} back."


def _proof(verdict: GroundRunVerdict | None, override: Override | None) -> Iterator[str]:
    if verdict is not None:
        yield f"Ground run: {verdict.overall}."
        for point in verdict.points:
            said = [f"read {point.reading}"] if point.reading else []
            said += [f"expected {point.expected}"] if point.expected else []
            said += [point.verdict] + ([f"margin {point.margin}"] if point.margin else [])
            yield f"{capital(point.what)}: {', '.join(said)}."
    if override is not None and (verdict is None or verdict.overall != "pass"):
        yield _override(override)


def _override(entry: Override) -> str:
    return f"{capital(_name(entry.what))} passed by {entry.name}: {sentence(entry.reason)}"


def limit_line(item: DueItem) -> str:
    """One limit as it stands after the work: what, by when, whose word it is."""
    when = []
    if item.due_centihours is not None:
        about = ""
        if item.expected_from is not None and item.expected_to is not None:
            about = f", {span_words(item.expected_from, item.expected_to)}"
        when.append(f"{hours_text(item.due_centihours)} {item.meter}{about}")
    if item.due_date is not None:
        when.append(str(item.due_date))
    if item.due_cycles is not None:
        when.append(f"{item.due_cycles} cycles")
    standing = f"mandatory, {item.source}" if item.mandatory else f"not mandatory, {item.source or item.nature}"
    return f"{capital(item.item)}: next by {' or '.join(when) or 'on condition'} ({standing})."


def _after(hours_after: float, hours: Hours) -> str:
    lead = f"{hours_after:g} h after this work"
    if hours.tach_centihours is None:
        return lead
    return f"{lead}, at {hours_text(hours.tach_centihours + round(hours_after * 100))} tach"


def _fields(
    package: WorkPackage, rules: Jurisdiction, description: str, completed_on: datetime.date | None, hours: Hours
) -> tuple[RecordField, ...]:
    """The entry's fields in order: what is known, then a blank for each thing a person gives."""

    def told(field: str, otherwise: str) -> str:
        duty = rules.duty(field)
        return duty.told if duty is not None else otherwise

    shown = []
    if hours.tach_centihours is not None:
        shown.append(f"tach {hours_text(hours.tach_centihours)}")
    if hours.hour_meter_centihours is not None:
        shown.append(f"hour meter {hours_text(hours.hour_meter_centihours)}")
    if hours.total_centihours is not None:
        shown.append(f"total time in service {hours_text(hours.total_centihours)}")
    fields = [
        RecordField(name="aircraft", text=package.aircraft, required_by="which aircraft the entry is about"),
        RecordField(
            name="date completed",
            text=str(completed_on) if completed_on else BLANK,
            required_by=told("date", "when the work was completed"),
        ),
        RecordField(name="hours", text=", ".join(shown), required_by="good practice: limits and tags count from these"),
        RecordField(name="description of work", text=description, required_by=told("description", "what was done")),
    ]
    blanks = (
        RecordField(name=_ASKED[duty.field], text=BLANK, required_by=duty.told)
        for duty in rules.duties
        if duty.field in _ASKED
    )
    return (*fields, *blanks)


def _text(
    package: WorkPackage,
    rules: Jurisdiction,
    fields: Iterable[RecordField],
    head_digest: str,
    drafted_on: datetime.date,
) -> str:
    """The whole entry as plain text, for reading, copying and printing."""
    lines = [DRAFT, ""]
    for field in fields:
        if field.name == "description of work":
            lines += ["", field.text, ""]
        else:
            lines.append(f"{capital(field.name)}: {field.text or '______________________'}")
    lines += [
        "",
        *_beside_signature(rules),
        f"Work package {package.id[:12]}, drafted {drafted_on}. Digest of the journal: {head_digest or 'none yet'}.",
    ]
    return "\n".join(lines) + "\n"


def _beside_signature(rules: Jurisdiction) -> tuple[str, ...]:
    """What a person who signs reads first: what it means, what comes before flight, by which rules."""
    checked = f"checked by {rules.checked_by}" if rules.checked_by else "not yet checked by a local person"
    told = (rules.signature_means, rules.before_flight, f"Rules: {rules.name}, as of {rules.as_of}, {checked}.")
    return tuple(words for words in told if words)


def _name(identifier: str) -> str:
    return identifier.replace(".", ", ").replace("_", " ")
