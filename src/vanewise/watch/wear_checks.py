"""What a pump's history must satisfy before a forecast is made, refused in four parts each."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator

from vanewise.errors import InputError, Problem
from vanewise.watch.types import WearReading
from vanewise.watch.wear_history import PumpHistory
from vanewise.watch.wear_priors import WearPriors

KINDS = ("length", "seen", "not seen", "within limit", "past limit", "worn out")
WEAR_MAX = 3.0


def check_history(history: PumpHistory, priors: WearPriors) -> None:
    """Raise :class:`InputError` with every problem found."""
    problems = [*_hours(history), *_port(history), *_dates(history), *_conditions(history)]
    for index, reading in enumerate(history.readings):
        problems.extend(_reading(index, reading, history, priors))
    if problems:
        raise InputError(problems)


def _hours(history: PumpHistory) -> Iterator[Problem]:
    if not (math.isfinite(history.hours_now) and history.hours_now >= 0.0):
        yield Problem(
            where="hours_now",
            expected="hours since this pump was new, 0 or more",
            found=str(history.hours_now),
            next_step="take the meter now less the meter when the pump was fitted, plus hours it came with",
        )
    entry = history.entry_hours
    if entry is not None and not 0.0 <= entry <= history.hours_now:
        yield Problem(
            where="entry_hours",
            expected=f"hours between 0 and the {history.hours_now:g} h of now",
            found=str(entry),
            next_step="give the pump's hours when it came under watch",
        )


def _port(history: PumpHistory) -> Iterator[Problem]:
    if not any(r.kind in ("seen", "not seen") for r in history.readings):
        return
    if history.port_wear_fraction is None:
        yield Problem(
            where="port_wear_fraction",
            expected="the height of the wear port, as the share of the allowance worn when the edge comes to it",
            found="nothing entered",
            next_step="take it from this pump's manual; it is 1.0 where the hole marks the limit itself",
        )
    elif not 0.0 < history.port_wear_fraction <= WEAR_MAX:
        yield Problem(
            where="port_wear_fraction",
            expected="a share of the wear allowance above 0, 1.0 being the limit",
            found=str(history.port_wear_fraction),
            next_step="work it out from the hole's height and the new and minimum lengths in the manual",
        )
    person = history.polarity_confirmed_by.strip()
    if history.seen_means not in ("good", "bad") or not person:
        said = history.seen_means or "nothing entered"
        yield Problem(
            where="seen_means",
            expected="good or bad, confirmed once per pump by a named person from its manual",
            found=f"{said}, confirmed by {person}" if person else f"{said}, not confirmed",
            next_step="read in the manual whether an edge seen at the port is within or past the limit, and confirm",
        )


def _dates(history: PumpHistory) -> Iterator[Problem]:
    dated = sorted((r for r in history.readings if r.date is not None), key=lambda r: (r.date, r.hours))
    for before, after in itertools.pairwise(dated):
        if before.date != after.date and after.hours < before.hours:
            yield Problem(
                where=f"reading of {after.date}",
                expected=f"hours of at least {before.hours:g} h, as read on {before.date}",
                found=f"{after.hours:g} h: the hours go backwards",
                next_step="check the meter, or enter the meter's replacement, or start a new pump",
            )


def _conditions(history: PumpHistory) -> Iterator[Problem]:
    for name in ("speed_ratio", "setting_pa"):
        value = getattr(history.conditions, name)
        if value is not None and not (math.isfinite(value) and value > 0):
            yield Problem(
                where=f"conditions.{name}",
                expected="a number above 0",
                found=str(value),
                next_step="correct it or leave it out",
            )


def _reading(index: int, reading: WearReading, history: PumpHistory, priors: WearPriors) -> Iterator[Problem]:
    where = f"readings[{index}]"
    if reading.kind not in KINDS:
        yield Problem(
            where=f"{where}.kind", expected=", ".join(KINDS), found=str(reading.kind), next_step="choose one of these"
        )
        return
    if not math.isfinite(reading.hours) or reading.hours < 0.0:
        yield Problem(
            where=f"{where}.hours",
            expected="hours since this pump was new, 0 or more",
            found=str(reading.hours),
            next_step="count from when this pump was new",
        )
    elif reading.hours > history.hours_now:
        yield Problem(
            where=f"{where}.hours",
            expected=f"no more than the {history.hours_now:g} h of now",
            found=f"{reading.hours:g} h: the hours go backwards",
            next_step="bring the hours of now up to date, or correct the reading's hours",
        )
    if reading.kind == "worn out" and history.running:
        yield Problem(
            where=f"{where}.kind",
            expected="a reading of a pump that still runs",
            found="worn out",
            next_step="a worn out pump has no hours left: mark it as taken off, or enter 'past limit'",
        )
    if reading.kind == "length":
        yield from _length(where, reading, priors)


def _length(where: str, reading: WearReading, priors: WearPriors) -> Iterator[Problem]:
    sd = reading.sd if reading.sd is not None else priors.reading_sd.number
    if not (math.isfinite(sd) and 0.005 <= sd <= 0.5):
        yield Problem(
            where=f"{where}.sd",
            expected="the error of a length as a share of the allowance, 0.005 to 0.5",
            found=str(reading.sd),
            next_step="measure one vane five times, and take the spread over the allowance",
        )
        return
    fraction = reading.wear_fraction
    if fraction is None or not math.isfinite(fraction):
        yield Problem(
            where=f"{where}.wear_fraction",
            expected="the share of the wear allowance used, 0 new and 1 at the limit",
            found="nothing entered" if fraction is None else str(fraction),
            next_step="enter the measured, new and minimum lengths",
        )
    elif fraction < -3.0 * max(sd, priors.new_length_sd.number):
        yield Problem(
            where=f"{where}.wear_fraction",
            expected=f"wear of 0 or more, give or take three times {max(sd, priors.new_length_sd.number):g}",
            found=f"{fraction:g}: longer than a new vane",
            next_step="check the new length for this pump, and which vane was measured",
        )
    elif fraction > WEAR_MAX:
        yield Problem(
            where=f"{where}.wear_fraction",
            expected=f"a share of the allowance up to {WEAR_MAX:g}, 1 being the limit",
            found=str(fraction),
            next_step="check the unit of the three lengths",
        )
