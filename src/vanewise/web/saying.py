"""Evidence as people read it: one line of words for each kept item."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any, Final

from vanewise.jobs import kinds
from vanewise.jobs.casebook import item_of
from vanewise.store.journal import JournalEntry
from vanewise.web import choices
from vanewise.web.words import day


@dataclass(frozen=True)
class Said:
    """One kept item for a list: its words, its particulars, where it can be looked at."""

    words: str
    more: str
    digest: str
    kind: str
    who: str
    at: str


def said(entry: JournalEntry, labels: Mapping[str, str]) -> Said:
    item = item_of(entry)
    words, more = _SAYERS[entry.kind](item, labels)
    when = day(str(item["when"])) if item.get("when") else ""
    return Said(
        words=words,
        more="; ".join(text for text in (more, when, str(item.get("note", ""))) if text),
        digest=entry.digest,
        kind=entry.kind,
        who=str(item.get("who") or entry.author),
        at=entry.at,
    )


def _end(port: Any, labels: Mapping[str, str]) -> str:
    part, _, name = str(port).partition(".")
    return f"{labels.get(part, part)}{', ' + name.replace('_', ' ') if name else ''}"


def _under(item: Mapping[str, Any], labels: Mapping[str, str]) -> list[str]:
    return [f"{labels.get(key.partition('.')[0], key)} {key.partition('.')[2]}" for key in item.get("under", {})]


def _reading(item: Mapping[str, Any], labels: Mapping[str, str]) -> tuple[str, str]:
    more = []
    if item.get("high") or item.get("low"):
        more.append(f"test gauge from {_end(item.get('high'), labels)} to {_end(item.get('low'), labels)}")
    direction = str(item.get("direction", ""))
    more += [direction] if direction not in ("", "unknown") else []
    more += [f"engine {'warm' if item['warm'] else 'cold'}"] if item.get("warm") is not None else []
    more += _under(item, labels)
    more += [f"at {item['altitude']}"] if item.get("altitude") else []
    more += [f"on the sister aircraft {item['sister']}"] if item.get("sister") else []
    more += ["while believed sound"] if item.get("sound") else []
    return f"{item.get('reading')} at {item.get('rpm')}", ", ".join(more)


def _lamp(item: Mapping[str, Any], labels: Mapping[str, str]) -> tuple[str, str]:
    went = "came on" if item.get("direction") == "falling" else "went out"
    return f"lamp {went} at {item.get('rpm')}", "while believed sound" if item.get("sound") else ""


def _remark(item: Mapping[str, Any], labels: Mapping[str, str]) -> tuple[str, str]:
    words = " ".join((choices.symptom_words(str(item.get("symptom", ""))), str(item.get("manner", "")))).strip()
    return (words if item.get("present", True) else f"looked for, and not there: {words}"), ""


def _event(item: Mapping[str, Any], labels: Mapping[str, str]) -> tuple[str, str]:
    ago = str(item.get("hours_ago", ""))
    place = _end(item["about"], labels) if item.get("about") else ""
    return choices.event_words(str(item.get("kind", ""))), ", ".join(
        text for text in (place, f"{ago} ago" if ago else "") if text
    )


def _check(item: Mapping[str, Any], labels: Mapping[str, str]) -> tuple[str, str]:
    check = str(item.get("check", ""))
    found = str(item.get("value", ""))
    if item.get("covered"):
        found = f"{item.get('before')} before, {item.get('covered')} covered"
    found = found or choices.outcome_words(check, str(item.get("outcome", "")))
    place = _end(item["place"], labels) if item.get("place") else ""
    return f"{choices.check_words(check)}: {found}", ", ".join([place, *_under(item, labels)]).strip(", ")


def _note(item: Mapping[str, Any], labels: Mapping[str, str]) -> tuple[str, str]:
    return str(item.get("text", "")), ""


_SAYERS: Final[Mapping[str, Callable[[Mapping[str, Any], Mapping[str, str]], tuple[str, str]]]] = MappingProxyType(
    {
        kinds.READING: _reading,
        kinds.LAMP: _lamp,
        kinds.REMARK: _remark,
        kinds.EVENT: _event,
        kinds.CHECK: _check,
        kinds.NOTE: _note,
    }
)
