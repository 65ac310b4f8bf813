"""Checks that a person's own words tell of, as fields of the page that offers them; nothing is taken over unasked."""

from __future__ import annotations

from typing import Any

from django import forms

from vanewise.diagnosis.checks import CHECKS, Check
from vanewise.diagnosis.parts_changed import CHECKS_OF
from vanewise.diagnosis.parts_named import of_check, of_kinds
from vanewise.diagnosis.told_checks import GRADE_TOLD, ToldCheck
from vanewise.jobs.casebook import Book
from vanewise.web import choices
from vanewise.wording import capital


def one_of_several(book: Book, check: Check) -> choices.Choices:
    """The parts a look may be at, where the aircraft has several: two pumps, a filter for each instrument."""
    kind = "pump" if check.id in CHECKS_OF["pump_changed"] else check.needs_part
    parts = book.description.parts_of(kind) if kind else ()
    return [(part.id, part.label) for part in parts] if len(parts) > 1 else []


def places_of(book: Book, check: Check) -> choices.Choices:
    """Where a check may be done, where the aircraft leaves a choice."""
    description = book.description
    if check.at_instrument:
        own = of_kinds(description, of_check(check.id))
        return [gyro for gyro in choices.gyros(description) if not own or gyro[0] in own]
    if check.kind == "suction flow":
        return choices.ports(description)
    if check.kind == "filter drop":
        return [(part.id, part.label) for part in description.parts if "filter" in part.kind]
    return one_of_several(book, check) if check.kind == "table" else []


def place_told(book: Book, told: ToldCheck) -> str:
    """The one instrument that was named, or the only one there is; nothing where it may be several."""
    if not CHECKS[told.id].at_instrument:
        return ""
    places = [place for place, _ in places_of(book, CHECKS[told.id])]
    named = {part.id for part in book.description.parts_of(told.about)} if told.about else set(places)
    left = [place for place in places if place in named]
    return left[0] if len(left) == 1 else ""


class ToldFields:
    """The fields of one check that was told of: what it showed, where, and how surely it is known.

    Fields are called by check and instrument, so that what a telephone kept of one text falls on no other check.
    """

    def __init__(self, book: Book, told: ToldCheck) -> None:
        self.check = CHECKS[told.id]
        self.name = f"told_{told.id}_{told.about.replace(' ', '_')}".rstrip("_")
        self.place, self.grade = f"{self.name}_at", f"{self.name}_grade"
        self._told = told
        self._places = places_of(book, self.check)
        self._at = place_told(book, told)

    def add_to(self, form: forms.Form) -> None:
        as_told = [(one.id, f"{one.words} (as told)") for one in self.check.outcomes if one.id == self._told.outcome]
        others = [(one.id, one.words) for one in self.check.outcomes if one.id != self._told.outcome]
        form.fields[self.name] = forms.ChoiceField(
            label=f"Check done: {self.check.name}", required=False, choices=[("", "leave out"), *as_told, *others]
        )
        if self._places:
            form.fields[self.place] = forms.ChoiceField(
                label="Where", required=False, choices=[("", "choose"), *self._places], initial=self._at
            )
        direct = [] if self.check.act else [("3", "seen or measured directly by who enters it")]
        form.fields[self.grade] = forms.ChoiceField(
            label="How it is known",
            required=False,
            choices=[("0", "only told"), ("1", "done by who enters it, and judged"), *direct],
            initial=str(GRADE_TOLD),
        )

    def fields(self, form: forms.Form) -> list[forms.BoundField]:
        return [form[name] for name in (self.name, self.place, self.grade) if name in form.fields]

    def without_place(self, told: dict[str, Any]) -> bool:
        """True where a result is taken over and the instrument it was done on is not said."""
        return bool(told.get(self.name)) and self.check.at_instrument and not told.get(self.place)

    def item(self, told: dict[str, Any], shared: dict[str, Any]) -> dict[str, Any]:
        """The result as the journal keeps it; ``shared`` says who and when."""
        item: dict[str, Any] = {name: shared[name] for name in ("who", "when") if name in shared}
        item |= {"check": self.check.id, "outcome": told[self.name], "grade": int(told[self.grade] or GRADE_TOLD)}
        return item | ({"place": told[self.place]} if told.get(self.place) else {})


class Measured:
    """A check told of that is answered by numbers: where they are entered, and which."""

    def __init__(self, book: Book, told: ToldCheck) -> None:
        place = place_told(book, told)
        self.words = capital(told.words)
        self.numbers = told.numbers
        self.address = f"../checks/{told.id}/" + (f"?place={place}" if place else "")
