"""From the answers to the ten questions to a description: what is known is entered, the rest stays assumed.

Answers are what people choose or type, by the id of the answer: ``{"duty": "suction", "gauge_cruise": "5.0 inHg"}``.
One that is missing, empty or "don't know" leaves the example standing.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable, Mapping
from types import MappingProxyType
from typing import Final, Literal, TypeVar, cast

import msgspec

from vanewise.aircraft.checks import check
from vanewise.aircraft.compose import Choices, GyroName, against_cabin, compose
from vanewise.aircraft.description import AircraftDescription, AlsoFitted, Autopilot, Fitted, Line, Meters, Part
from vanewise.aircraft.fields import parse_field
from vanewise.aircraft.names import nearest
from vanewise.aircraft.not_covered import not_covered
from vanewise.aircraft.questions import DONT_KNOW, QUESTIONS, AnswerSpec
from vanewise.aircraft.remarks import remarks
from vanewise.aircraft.tables import parse_date
from vanewise.aircraft.versions import revise
from vanewise.errors import InputError, NotCovered, Problem
from vanewise.provenance import Value
from vanewise.quantities import to_centihours

Answers = Mapping[str, object]
_T = TypeVar("_T")
_replace = msgspec.structs.replace

_SPECS: Final[Mapping[str, tuple[int, AnswerSpec]]] = MappingProxyType(
    {spec.id: (question.number, spec) for question in QUESTIONS for spec in question.answers}
)
_UNKNOWN_WORDS: Final = frozenset({"", DONT_KNOW, "dont know", "don’t know", "do not know", "unknown", "?"})


class Start(msgspec.Struct, frozen=True, kw_only=True):
    """What a person who knows little starts from.

    ``lamp_out_rpm`` and ``last_work`` are not part of an aircraft but things known about it: they are handed on as
    evidence. ``assumed`` lists the answers nobody gave: question, what was asked, what is taken, source.
    """

    description: AircraftDescription
    remarks: tuple[Problem, ...]
    assumed: tuple[tuple[int, str, str, str], ...]
    lamp_out_rpm: float | None
    last_work: str


def describe_from_answers(answers: Answers, name: str = "My aircraft") -> AircraftDescription:
    """The description that these answers give. See :func:`start_from_answers`."""
    return start_from_answers(answers, name).description


def start_from_answers(answers: Answers, name: str = "My aircraft") -> Start:
    """The description that these answers give, with what was assumed and what is worth a look.

    Raises :class:`NotCovered` for what is not modelled (wet pump, venturi, all electric, ...), :class:`InputError`
    with everything that cannot be read or is contradictory.
    """
    sheet = _Sheet(answers)
    choices = _choices(sheet)
    also = _also_fitted(sheet)
    _refuse(sheet.outside, NotCovered)
    description = _with_numbers(compose(choices, name, _layout(choices)), sheet)
    description = _with_panel(description, sheet, choices, also)
    description = _with_ages(description, sheet)
    lamp_out_rpm = _lamp_out_rpm(sheet)
    last_work = sheet.text("last_work")
    _refuse([*sheet.problems, *(_as_answer(problem) for problem in check(description))], InputError)
    return Start(
        description=description,
        remarks=remarks(description),
        assumed=_assumed(sheet),
        lamp_out_rpm=lamp_out_rpm,
        last_work=last_work,
    )


def _refuse(problems: list[Problem], kind: type[InputError]) -> None:
    if problems:
        raise kind(problems)


class _Sheet:
    """The answers, read one by one; problems are gathered. Each reading method gives None for "don't know"."""

    def __init__(self, answers: Answers):
        self.answers = answers
        self.problems: list[Problem] = []
        self.outside: list[Problem] = []
        self._chosen: dict[str, str | None] = {}
        for answer_id in answers:
            if answer_id not in _SPECS:
                self._problem(
                    answer_id, "an answer to one of the questions", f'"{answer_id}"', nearest(answer_id, _SPECS)
                )

    def where(self, answer_id: str) -> str:
        number, spec = _SPECS[answer_id]
        return f"{answer_id} (question {number}: {spec.label})"

    def _problem(self, answer_id: str, expected: str, found: str, next_step: str) -> None:
        where = self.where(answer_id) if answer_id in _SPECS else answer_id
        self.problems.append(Problem(where=where, expected=expected, found=found, next_step=next_step))

    def known(self, answer_id: str) -> object | None:
        """The answer, or None for "don't know"."""
        answer = self.answers.get(answer_id)
        if answer is None or (isinstance(answer, str) and answer.strip().lower() in _UNKNOWN_WORDS):
            return None
        return answer

    def choice(self, answer_id: str) -> str | None:
        if answer_id not in self._chosen:
            self._chosen[answer_id] = self._read_choice(answer_id)
        return self._chosen[answer_id]

    def _read_choice(self, answer_id: str) -> str | None:
        answer = self.known(answer_id)
        choices = _SPECS[answer_id][1].choices
        if answer is None or answer in choices:
            return cast("str | None", answer)
        known = [*choices, DONT_KNOW]
        words = ", ".join(f'"{word}"' for word in known)
        self._problem(answer_id, f"one of {words}", f'"{answer}"', nearest(str(answer), known))
        return None

    def value(self, answer_id: str) -> Value | None:
        spec = _SPECS[answer_id][1]
        kind, field = cast("tuple[str, str]", spec.field)
        return self._read(answer_id, lambda answer, where: parse_field(kind, field, answer, where))

    def hours(self, answer_id: str) -> int | None:
        return self._read(answer_id, to_centihours)

    def date(self, answer_id: str) -> datetime.date | None:
        return self._read(answer_id, parse_date)

    def text(self, answer_id: str) -> str:
        answer = self.known(answer_id)
        return " ".join(str(answer).split()) if answer is not None else ""

    def _read(self, answer_id: str, read: Callable[[object, str], _T]) -> _T | None:
        answer = self.known(answer_id)
        if answer is None:
            return None
        try:
            return read(answer, self.where(answer_id))
        except InputError as error:
            self.problems.extend(error.problems)
            return None

    def refuse_outside(self, answer_id: str, word: str) -> None:
        problem = not_covered(word, self.where(answer_id))
        if problem is not None:
            self.outside.append(problem)


def _choices(sheet: _Sheet) -> Choices:
    duty = cast(Literal["suction", "pressure"], sheet.choice("duty") or "suction")
    source = sheet.choice("pumps") or "one"
    sheet.refuse_outside("pumps", source)
    on_air = {"attitude": "air", "heading": "air", "turn": "electric"}
    gyros = tuple(gyro for gyro, usual in on_air.items() if (sheet.choice(gyro) or usual) == "air")
    if not gyros:
        sheet.refuse_outside("attitude", "all electric")
    if sheet.choice("autopilot") == "air":
        sheet.refuse_outside("autopilot", "pneumatic autopilot")
    return Choices(
        duty=duty,
        gyros=cast("tuple[GyroName, ...]", gyros) or ("attitude",),
        pumps=2 if source == "two" else 1,
        filters=cast(Literal["central", "each", "none"], sheet.choice("filters") or "central"),
        inlet_filter=sheet.choice("inlet_filter") != "no",
        inline_filter=sheet.choice("inline_filter") != "no",
        lamp=sheet.choice("lamp") == "yes",
    )


def _layout(choices: Choices) -> str:
    """The ready-made layout that these choices are, or begin as."""
    if choices.duty == "pressure":
        return "pressure-twin-pumps" if choices.pumps == 2 else "pressure-one-pump"
    return "suction-twin-pumps" if choices.pumps == 2 else "suction-one-pump"


def _also_fitted(sheet: _Sheet) -> tuple[AlsoFitted, ...]:
    found: list[AlsoFitted] = []
    if (sheet.choice("standby") or "none") != "none":
        found.append("standby source")
    if sheet.choice("boots") == "yes":
        found.append("de-ice boots")
    if sheet.choice("door_seal") == "yes":
        found.append("door seal")
    return tuple(found)


def _with_numbers(description: AircraftDescription, sheet: _Sheet) -> AircraftDescription:
    for answer_id in ("idle_rpm", "run_up_rpm", "cruise_rpm", "max_rpm"):
        description = _revised(description, f"engine.{answer_id}", sheet.value(answer_id))
    for answer_id, path in (
        ("band_low", "gauge.band_low"),
        ("band_high", "gauge.band_high"),
        ("elevation", "field.elevation"),
        ("latitude", "field.latitude"),
        ("gauge_cruise", "regulator.setting"),
    ):
        description = _revised(description, path, sheet.value(answer_id))
    if sheet.known("gauge_cruise") is not None:
        cruise = description.engine.cruise_rpm
        at = _replace(cruise, note="the reading in cruise was given")
        description = _revised(description, "regulator.set_at_rpm", at)
    ratio = sheet.value("drive_ratio")
    for pump in description.parts_of("pump"):
        description = _revised(description, f"{pump.id}.drive_ratio", ratio)
    return description


def _revised(description: AircraftDescription, path: str, value: Value | None) -> AircraftDescription:
    return description if value is None else revise(description, path, value)


def _with_panel(
    description: AircraftDescription, sheet: _Sheet, choices: Choices, also: tuple[AlsoFitted, ...]
) -> AircraftDescription:
    gauge = sheet.choice("gauge")
    high, low = description.gauge.high, description.gauge.low
    if gauge is None:
        high, low = "unknown", "unknown"
    elif gauge == "cabin":
        high, low = against_cabin(choices)
    autopilot = sheet.choice("autopilot") or "none"
    takes: Autopilot = "no autopilot"
    if autopilot == "electric":
        takes = cast(Autopilot, sheet.choice("autopilot_takes_attitude") or "unknown")
        pilot = Part(id="autopilot", kind="autopilot", name="autopilot")
        description = _replace(description, parts=(*description.parts, pilot))
    return _replace(
        description,
        gauge=_replace(description.gauge, high=high, low=low),
        duty_confirmed=sheet.choice("duty") is not None,
        autopilot_takes_attitude=takes,
        turn_instrument=_turn(sheet),
        also_fitted=also,
    )


def _turn(sheet: _Sheet) -> Literal["electric", "air", "none"]:
    return cast(Literal["electric", "air", "none"], sheet.choice("turn") or "electric")


def _with_ages(description: AircraftDescription, sheet: _Sheet) -> AircraftDescription:
    pump = Fitted(date=sheet.date("pump_on"), tach_centihours=sheet.hours("pump_tach"))
    filters = Fitted(date=sheet.date("filter_on"), tach_centihours=sheet.hours("filter_tach"))
    hoses = Fitted(date=sheet.date("hoses_on"))
    of_kind = {"pump": pump, "intake filter": filters, "inline filter": filters, "inlet filter": filters}

    def aged(part: Part) -> Part:
        return _replace(part, fitted=of_kind.get(part.kind, part.fitted))

    def aged_line(line: Line) -> Line:
        return _replace(line, fitted=hoses) if line.material == "hose" else line

    return _replace(
        description,
        parts=tuple(aged(part) for part in description.parts),
        lines=tuple(aged_line(line) for line in description.lines),
        meters=Meters(
            tach_centihours=sheet.hours("tach"),
            hour_meter_centihours=sheet.hours("hour_meter"),
            read_on=sheet.date("read_on"),
        ),
    )


def _lamp_out_rpm(sheet: _Sheet) -> float | None:
    value = sheet.value("lamp_out_rpm")
    return None if value is None or sheet.choice("lamp") != "yes" else value.number


def _assumed(sheet: _Sheet) -> tuple[tuple[int, str, str, str], ...]:
    """The answers that were asked for and not given."""
    found = []
    for number, spec in _SPECS.values():
        if sheet.known(spec.id) is None and spec.assumed != "not known" and _asked(sheet, spec):
            found.append((number, spec.label, spec.assumed, spec.source))
    return tuple(found)


def _asked(sheet: _Sheet, spec: AnswerSpec) -> bool:
    if spec.asked_when is None:
        return True
    other, words = spec.asked_when
    return (sheet.choice(other) or DONT_KNOW) in words


#: Where a contradiction between answers shows in a description -> the answer to look at again.
_ANSWER_AT: Final[Mapping[str, str]] = MappingProxyType(
    {
        "engine.idle_rpm": "idle_rpm",
        "engine.run_up_rpm": "run_up_rpm",
        "engine.cruise_rpm": "cruise_rpm",
        "engine.max_rpm": "max_rpm",
        "gauge.band_low": "band_low",
        "gauge.band_high": "band_high",
    }
)


def _as_answer(problem: Problem) -> Problem:
    """A finding of the checks, pointed at the answer it comes from where it comes from one."""
    answer_id = _ANSWER_AT.get(problem.path)
    if answer_id is None:
        return problem
    number, spec = _SPECS[answer_id]
    return _replace(problem, where=f"{answer_id} (question {number}: {spec.label})")
