"""The journal as people read it, one entry of it, and its correction."""

from __future__ import annotations

from typing import Any

from django import forms
from django.http import HttpRequest, HttpResponse

from vanewise.errors import InputError, wrong
from vanewise.jobs.casebook import now, open_book
from vanewise.store import journal as store
from vanewise.store.journal import HeadMoved
from vanewise.web.views.common import Kept, kept, page, said_wrong, start_values


def journal(request: HttpRequest, aircraft: str) -> HttpResponse:
    book = open_book(aircraft)
    replaced = {entry.replaces: entry.digest for entry in book.entries if entry.replaces}
    lines = [{"entry": entry, "replaced_by": replaced.get(entry.digest, "")} for entry in book.entries[::-1]]
    return page(request, "journal.html", book, "journal", {"lines": lines})


class CorrectionForm(Kept):
    reason = forms.CharField(label="Why it is taken back", max_length=300)


def entry(request: HttpRequest, aircraft: str, digest: str) -> HttpResponse:
    book = open_book(aircraft)
    found = store.entry(digest)
    if found.aircraft != aircraft:
        raise wrong("entry", f"an entry of {book.name}", "one of another aircraft", "take it from this journal")
    correction = next((later for later in book.entries if later.replaces == digest), None)
    form = CorrectionForm(request.POST or None, initial=start_values(request, book))
    context: dict[str, Any] = {"entry": found, "correction": correction, "form": form, "facts": _facts(found.content)}
    if request.method == "POST" and form.is_valid():
        try:
            store.correct(
                digest,
                None,
                reason=form.cleaned_data["reason"],
                author=form.cleaned_data["author"],
                at=now(),
                expected_head=form.cleaned_data["head"],
            )
        except (InputError, HeadMoved) as error:
            context |= said_wrong(form, error)
        else:
            return kept(form, f"/a/{aircraft}/journal/")
    return page(request, "entry.html", book, "journal", context)


def _facts(content: Any, path: str = "") -> list[tuple[str, str]]:
    """An entry's content as plain lines."""
    if isinstance(content, dict):
        return [line for key in content for line in _facts(content[key], f"{path} {key}".strip())]
    if isinstance(content, list):
        return [line for index, item in enumerate(content, 1) for line in _facts(item, f"{path} {index}")]
    return [(path.replace("_", " "), str(content))] if content not in ("", None) else []
