"""From what a person said to the words of evidence: suggestions, of which the person chooses.

Checks that are told of stand in the same list. A result that is taken over has the grade of what was only told, which
the person may raise; what is told of a check that is answered by numbers is never taken over without them.
"""

from __future__ import annotations

from collections.abc import Collection
from typing import Any, Final

import msgspec

from vanewise.diagnosis.checks import CHECKS
from vanewise.diagnosis.free_words import Clause, Suggestion, suggest, unmatched
from vanewise.diagnosis.told_checks import GRADE_TOLD, ToldCheck
from vanewise.errors import wrong
from vanewise.jobs.answers import Answer


class Meant(msgspec.Struct, frozen=True, kw_only=True):
    """What a text may mean, clause by clause, numbered for choosing; and the evidence the choice makes."""

    clauses: tuple[Clause, ...]
    chosen: tuple[Suggestion, ...] = ()
    chosen_checks: tuple[ToldCheck, ...] = ()
    notes: tuple[str, ...] = ()
    """Clauses kept word for word."""
    evidence: str = ""
    """The chosen words as a piece of an evidence file."""


def found(text: str, choose: str | None = None) -> Answer:
    """Suggestions for ``text``; with ``choose`` ("1,3") also the evidence they make. Raises InputError."""
    if not text.strip():
        raise wrong("text", "what was noticed, in any words", "nothing", "put it in quotes after the command")
    clauses = suggest(text)
    picked = _chosen([one for clause in clauses for one in _offered(clause)], choose)
    chosen = tuple(one for one in picked if isinstance(one, Suggestion))
    checks = tuple(one for one in picked if isinstance(one, ToldCheck))
    notes = unmatched(clauses) if choose is None else _left(clauses, chosen, checks)
    evidence = _evidence(chosen, checks, notes) if picked else ""
    meant = Meant(clauses=clauses, chosen=chosen, chosen_checks=checks, notes=notes, evidence=evidence)
    return Answer(data=meant, words=_words(meant))


def _offered(clause: Clause) -> tuple[ToldCheck | Suggestion, ...]:
    """What a clause may mean, in the order it is numbered: a check told of rests on more words, and stands first."""
    return (*clause.checks, *clause.suggestions)


def _left(
    clauses: tuple[Clause, ...], chosen: tuple[Suggestion, ...], checks: tuple[ToldCheck, ...]
) -> tuple[str, ...]:
    """The clauses of which nothing was chosen; what is answered by numbers is kept, as nothing of it is taken over."""
    words = {one.id for one in chosen}
    results = {one.id for one in checks if not one.numbers}
    return tuple(
        clause.text
        for clause in clauses
        if not words & {one.id for one in clause.suggestions}
        and not results & {*(one.id for one in clause.checks), *clause.shows}
    )


def _chosen(numbered: list[ToldCheck | Suggestion], choose: str | None) -> tuple[ToldCheck | Suggestion, ...]:
    if choose is None:
        return ()
    picked: dict[tuple[str, str], ToldCheck | Suggestion] = {}
    for word in choose.replace(" ", "").split(","):
        if not word.isdigit() or not 1 <= int(word) <= len(numbered):
            raise wrong("--choose", f"numbers from 1 to {len(numbered)}", word, "look at the list without --choose")
        one = numbered[int(word) - 1]
        picked.setdefault((one.id, one.about if isinstance(one, ToldCheck) else ""), one)
    return tuple(picked.values())


def _evidence(chosen: tuple[Suggestion, ...], checks: tuple[ToldCheck, ...], notes: tuple[str, ...]) -> str:
    """TOML to be put into an evidence file; notes first, because they stand at its top."""
    lines: list[str] = []
    if notes:
        lines.append(f"notes = {msgspec.json.encode(list(notes)).decode()}")
    for suggestion in chosen:
        section, key = ("remarks", "symptom") if suggestion.kind == "symptom" else ("events", "kind")
        lines += ["", f"[[{section}]]", f'{key} = "{suggestion.id}"']
        lines += [] if suggestion.present else ["present = false"]
    for told in checks:
        lines += ["", *_check_lines(told)]
    return "\n".join(lines).strip() + "\n"


def _check_lines(told: ToldCheck) -> list[str]:
    """A check result; what the person must still say is left empty, which no evidence file takes."""
    if told.numbers:
        return [f"# {told.id}: enter {told.numbers}; nothing is taken over without"]
    known = CHECKS[told.id]
    lines = ["[[checks]]", f'check = "{told.id}"', f'outcome = "{told.outcome}"']
    if not told.outcome:
        lines[-1] += f" # one of {', '.join(outcome.id for outcome in known.outcomes)}"
    if known.at_instrument:
        lines.append(f'place = "" # the id of the {told.about or "instrument"} in the aircraft\'s description')
    seen = "" if known.act else ", 3: seen directly"
    return [*lines, f"grade = {GRADE_TOLD} # told only; if you did it yourself, 1: judged{seen}"]


def _words(meant: Meant) -> str:
    lines: list[str] = []
    number = 0
    for clause in meant.clauses:
        lines.append(f'"{clause.text}"')
        for one in _offered(clause):
            number += 1
            lines.append(f"  {number}  {_line(one)}")
        if not _offered(clause):
            lines.append("  what the check above showed" if clause.shows else "  nothing close: kept as a note")
    if meant.evidence:
        lines += ["", "For the evidence file:", "", meant.evidence.rstrip()]
        lines += ["", ONCE] if meant.chosen_checks else []
    else:
        lines += ["", "These are likenesses of words, not of meaning. Choose with --choose, e.g. --choose 1,2."]
        lines += [ONCE] if any(clause.checks for clause in meant.clauses) else []
    return "\n".join(lines)


ONCE: Final = "Enter a thing that was seen once: as noticed, or as what a check showed."
"""Two entries of one look would be two witnesses."""


def _line(one: ToldCheck | Suggestion) -> str:
    if isinstance(one, Suggestion):
        return f"{'' if one.present else 'looked, not there: '}{one.words} ({one.id})"
    at = f", at the {one.about}" if one.about else ""
    if one.numbers:
        return f"check, needs its numbers: {one.words}{at} ({one.id}): {one.numbers}"
    showed = f"{one.outcome_words} ({one.id} {one.outcome})" if one.outcome else f"outcome not told ({one.id})"
    return f"check done: {one.words}{at}: {showed}"


NOTHING: Final[dict[str, Any]] = {"clauses": (), "symptoms": [], "events": [], "checks": [], "notes": ()}
"""What a page offers for no words."""


def for_form(text: str, fitted: Collection[str]) -> dict[str, Any]:
    """Suggestions for a page: ids in order, each once; the checks told of; and what stays a note.

    ``fitted`` are the checks whose part this aircraft has.
    """
    clauses = tuple(
        msgspec.structs.replace(clause, checks=tuple(one for one in clause.checks if one.id in fitted))
        for clause in suggest(text)
    )
    wanted = [item for clause in clauses for item in clause.suggestions]
    return {
        "clauses": clauses,
        "symptoms": list(dict.fromkeys(item.id for item in wanted if item.kind == "symptom")),
        "events": list(dict.fromkeys(item.id for item in wanted if item.kind == "event")),
        "checks": list({(one.id, one.about): one for clause in clauses[::-1] for one in clause.checks}.values())[::-1],
        "notes": unmatched(clauses),
    }
