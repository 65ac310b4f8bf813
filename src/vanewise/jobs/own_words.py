"""From what a person said to the words of evidence: suggestions, of which the person chooses."""

from __future__ import annotations

from typing import Any

import msgspec

from vanewise.diagnosis.free_words import Clause, Suggestion, suggest, unmatched
from vanewise.errors import wrong
from vanewise.jobs.answers import Answer


class Meant(msgspec.Struct, frozen=True, kw_only=True):
    """What a text may mean, clause by clause, numbered for choosing; and the evidence the choice makes."""

    clauses: tuple[Clause, ...]
    chosen: tuple[Suggestion, ...] = ()
    notes: tuple[str, ...] = ()
    """Clauses kept word for word."""
    evidence: str = ""
    """The chosen words as a piece of an evidence file."""


def found(text: str, choose: str | None = None) -> Answer:
    """Suggestions for ``text``; with ``choose`` ("1,3") also the evidence they make. Raises InputError."""
    if not text.strip():
        raise wrong("text", "what was noticed, in any words", "nothing", "put it in quotes after the command")
    clauses = suggest(text)
    numbered = [suggestion for clause in clauses for suggestion in clause.suggestions]
    chosen = _chosen(numbered, choose)
    taken = {suggestion.id for suggestion in chosen}
    notes = (
        unmatched(clauses)
        if choose is None
        else tuple(clause.text for clause in clauses if not taken & {item.id for item in clause.suggestions})
    )
    meant = Meant(clauses=clauses, chosen=chosen, notes=notes, evidence=_evidence(chosen, notes) if chosen else "")
    return Answer(data=meant, words=_words(meant))


def _chosen(numbered: list[Suggestion], choose: str | None) -> tuple[Suggestion, ...]:
    if choose is None:
        return ()
    picked: dict[str, Suggestion] = {}
    for word in choose.replace(" ", "").split(","):
        if not word.isdigit() or not 1 <= int(word) <= len(numbered):
            raise wrong("--choose", f"numbers from 1 to {len(numbered)}", word, "look at the list without --choose")
        suggestion = numbered[int(word) - 1]
        picked.setdefault(suggestion.id, suggestion)
    return tuple(picked.values())


def _evidence(chosen: tuple[Suggestion, ...], notes: tuple[str, ...]) -> str:
    """TOML to be put into an evidence file; notes first, because they stand at its top."""
    lines: list[str] = []
    if notes:
        lines.append(f"notes = {msgspec.json.encode(list(notes)).decode()}")
    for suggestion in chosen:
        section, key = ("remarks", "symptom") if suggestion.kind == "symptom" else ("events", "kind")
        lines += ["", f"[[{section}]]", f'{key} = "{suggestion.id}"']
        lines += [] if suggestion.present else ["present = false"]
    return "\n".join(lines).strip() + "\n"


def _words(meant: Meant) -> str:
    lines: list[str] = []
    number = 0
    for clause in meant.clauses:
        lines.append(f'"{clause.text}"')
        for suggestion in clause.suggestions:
            number += 1
            absent = "" if suggestion.present else "looked, not there: "
            lines.append(f"  {number}  {absent}{suggestion.words} ({suggestion.id})")
        if not clause.suggestions:
            lines.append("  nothing close: kept as a note")
    if meant.evidence:
        lines += ["", "For the evidence file:", "", meant.evidence.rstrip()]
    else:
        lines += ["", "These are likenesses of words, not of meaning. Choose with --choose, e.g. --choose 1,2."]
    return "\n".join(lines)


def for_form(text: str) -> dict[str, Any]:
    """Suggested symptoms for a page: ids in order, each once, and what stays a note."""
    clauses = suggest(text)
    wanted = [item for clause in clauses for item in clause.suggestions]
    return {
        "clauses": clauses,
        "symptoms": list(dict.fromkeys(item.id for item in wanted if item.kind == "symptom")),
        "events": list(dict.fromkeys(item.id for item in wanted if item.kind == "event")),
        "notes": unmatched(clauses),
    }
