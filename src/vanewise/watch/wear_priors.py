"""What the wear forecast assumes before it has seen a reading, each number with its standing.

No public table of vane wear against hours was found, so every number here is an assumption that a person can replace
by their own. The duty factor of about 2 and the 1,400 h are common practice; the rest is judgement. A forecast lists
all of them beside its answer.

Units: hours in h, lengths as a fraction of the wear allowance (new length less minimum length; a wear of 1 is the
limit). ``spread`` is one standard deviation, of the logarithm where ``spread_kind`` is ``relative``.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Literal

import msgspec

from vanewise.errors import InputError, Problem, wrong
from vanewise.provenance import ASSUMED, COMMON_PRACTICE, JUDGEMENT, Source, Standing, Value

Duty = Literal["suction", "pressure"]
EventKind = Literal["oil in the pump", "debris through the pump", "clogged filter changed", "other change"]

REFERENCE_SPEED_RATIO = 1.3
"""Pump speed over engine speed of the commonest drive; the speed exponent counts from here."""
REFERENCE_SETTING_PA = 5.0 * 3386.389
REFERENCE_ALTITUDE_M = 914.4
"""3,000 ft: the altitude most flying of an unspecified aircraft is taken to happen at."""


def _value(
    number: float,
    dimension: str,
    spread: float,
    kind: Literal["relative", "absolute"],
    standing: Standing,
    source: Source,
    note: str = "",
) -> Value:
    return Value(
        number=number,
        dimension=dimension,
        spread=spread,
        spread_kind=kind,
        standing=standing,
        source=source,
        note=note,
    )


class Member(msgspec.Struct, frozen=True, kw_only=True):
    """One shape that the wear of a pump may have: how uneven it is, and whether it slows or quickens with use.

    ``scatter`` A: the coefficient of variation of wear over one median life is 1/sqrt(A).
    ``run_in`` c: mean wear goes with (hours)**c. ``may_change``: the rate may rise once, unseen, at a random hour.
    """

    scatter: float
    run_in: float
    weight: float
    may_change: bool = False


def _mixture() -> tuple[Member, ...]:
    """The default mixture: judgement, tuned until simulated pumps of several wrong truths were covered."""
    scatters = ((12.0, 0.20), (30.0, 0.40), (80.0, 0.40))
    shapes = ((0.75, 0.30), (1.0, 0.45), (1.3, 0.25))
    changing = 0.30
    steady = tuple(
        Member(scatter=scatter, run_in=shape, weight=(1.0 - changing) * share * part)
        for scatter, share in scatters
        for shape, part in shapes
    )
    return (*steady, Member(scatter=40.0, run_in=1.0, weight=changing, may_change=True))


class WearPriors(msgspec.Struct, frozen=True, kw_only=True):
    """Every prior of the wear forecast. Replace any of them with ``msgspec.structs.replace``."""

    median_life: Value = _value(
        1400.0, "hours", 0.30, "relative", "common practice, no source", COMMON_PRACTICE, "suction duty, to the limit"
    )
    unit_spread: Value = _value(0.35, "ratio", 0.0, "relative", "assumed", ASSUMED, "log spread from pump to pump")
    pressure_duty_factor: Value = _value(
        2.0, "ratio", 0.25, "relative", "common practice, no source", COMMON_PRACTICE, "wear rate over suction duty"
    )
    speed_exponent: Value = _value(
        2.0, "ratio", 0.7, "absolute", "judgement", JUDGEMENT, "wear rate goes with (pump speed) to this power"
    )
    setting_exponent: Value = _value(
        1.0, "ratio", 0.5, "absolute", "judgement", JUDGEMENT, "wear rate goes with (pressure difference) to this power"
    )
    altitude_factor: Value = _value(
        1.2, "ratio", 0.3, "relative", "judgement", JUDGEMENT, "wear rate per 10,000 ft of usual altitude: dry air"
    )
    oil_factor: Value = _value(2.0, "ratio", 0.7, "relative", "judgement", JUDGEMENT, "wear rate after oil got in")
    debris_factor: Value = _value(2.0, "ratio", 0.7, "relative", "judgement", JUDGEMENT, "wear rate after debris")
    filter_factor: Value = _value(
        0.8, "ratio", 0.3, "relative", "judgement", JUDGEMENT, "wear rate after a clogged filter was changed"
    )
    other_factor: Value = _value(1.0, "ratio", 0.5, "relative", "judgement", JUDGEMENT, "after another change")
    hidden_change_factor: Value = _value(
        2.0, "ratio", 0.0, "relative", "judgement", JUDGEMENT, "wear rate after a change nobody saw"
    )
    hidden_changes_per_life: Value = _value(
        1.0, "ratio", 0.0, "relative", "judgement", JUDGEMENT, "rate of unseen changes among pumps open to them"
    )
    reading_sd: Value = _value(0.05, "ratio", 0.0, "absolute", "assumed", ASSUMED, "of the wear allowance")
    reading_slip: Value = _value(0.01, "ratio", 0.0, "absolute", "assumed", ASSUMED, "share of lengths written wrongly")
    new_length_sd: Value = _value(0.03, "ratio", 0.0, "absolute", "assumed", ASSUMED, "of the wear allowance")
    port_sd: Value = _value(0.03, "ratio", 0.0, "absolute", "assumed", ASSUMED, "of the wear allowance")
    port_misread: Value = _value(0.02, "ratio", 0.0, "absolute", "assumed", ASSUMED, "share of looks misread")
    break_point: Value = _value(
        1.15, "ratio", 0.10, "relative", "judgement", JUDGEMENT, "wear at which a vane cocks, cracks or jams"
    )
    sudden_events: Value = _value(
        2.0, "ratio", 0.0, "absolute", "judgement", JUDGEMENT, "weight of the sudden-stop rate, as events seen"
    )
    sudden_hours: Value = _value(
        2800.0, "hours", 0.0, "absolute", "judgement", JUDGEMENT, "hours behind those events: about 1 stop in 1,400 h"
    )
    members: tuple[Member, ...] = _mixture()

    def values(self) -> tuple[tuple[str, Value], ...]:
        """Name and value of every single-number prior, in the order of this class."""
        pairs = ((name, getattr(self, name)) for name in self.__struct_fields__)
        return tuple((name, value) for name, value in pairs if isinstance(value, Value))

    @property
    def life_log_sd(self) -> float:
        """Log spread of one pump's life before any reading: population median and unit to unit together."""
        return math.hypot(self.median_life.spread, self.unit_spread.number)

    @property
    def changing_life(self) -> float:
        """How much longer the unchanged life of a pump open to a change is, so that the stated median holds.

        With a change at an exponential time t (hazard a per life) the limit comes at (1 + (f - 1) t) / f lives when
        t < 1; its median is found from the median of t, ln 2 / a.
        """
        hazard, factor = self.hidden_changes_per_life.number, self.hidden_change_factor.number
        middle = math.log(2.0) / hazard if hazard > 0 else math.inf
        return 1.0 if middle >= 1.0 else factor / (1.0 + (factor - 1.0) * middle)

    def event_factor(self, kind: EventKind) -> Value:
        return {
            "oil in the pump": self.oil_factor,
            "debris through the pump": self.debris_factor,
            "clogged filter changed": self.filter_factor,
            "other change": self.other_factor,
        }[kind]


DEFAULT_PRIORS = WearPriors()


class Edit(msgspec.Struct, frozen=True, kw_only=True):
    """A number that a person puts in place of a starting one; ``spread`` None keeps that of the starting one."""

    number: float
    source: str
    spread: float | None = None


def edited(edits: Mapping[str, Edit], base: WearPriors = DEFAULT_PRIORS) -> WearPriors:
    """Priors with a person's own numbers in their place.

    Raises :class:`InputError` for a name that is none of them, a number without its source, or one that cannot be used.
    """
    known = dict(base.values())
    problems = []
    changed = {}
    for name, edit in edits.items():
        if name not in known:
            problems.append(
                Problem(
                    where=f"wear assumption {name}",
                    expected=f"one of {', '.join(known)}",
                    found=f'"{name}"',
                    next_step="choose one of the list",
                )
            )
        elif not edit.source.strip():
            problems.append(
                Problem(
                    where=f"wear assumption {name}",
                    expected="where the number comes from",
                    found="nothing",
                    next_step="name the record, the document or the person",
                )
            )
        else:
            changed[name] = msgspec.structs.replace(
                known[name],
                number=edit.number,
                spread=known[name].spread if edit.spread is None else edit.spread,
                standing="as entered",
                source=Source(edit.source.strip()),
            )
    if problems:
        raise InputError(problems)
    out = msgspec.structs.replace(base, **changed)
    check_priors(out)
    return out


_POSITIVE = (
    "median_life",
    "unit_spread",
    "pressure_duty_factor",
    "altitude_factor",
    "oil_factor",
    "debris_factor",
    "filter_factor",
    "other_factor",
    "hidden_change_factor",
    "reading_sd",
    "port_sd",
    "break_point",
    "sudden_events",
    "sudden_hours",
)


def check_priors(priors: WearPriors) -> None:
    """Raise :class:`InputError` when an edited prior cannot be used."""
    for name, value in priors.values():
        if not math.isfinite(value.number) or not math.isfinite(value.spread) or value.spread < 0:
            raise wrong(
                f"wear assumption {name}",
                "a finite number with a spread of 0 or more",
                f"{value.number} with spread {value.spread}",
                "write a number that can be defended, with its source",
            )
        if value.number < 0 or (name in _POSITIVE and value.number == 0):
            raise wrong(f"wear assumption {name}", "a number above 0", value.number, "write a number above 0")
    for name in ("reading_slip", "port_misread"):
        share = getattr(priors, name).number
        if share >= 0.5:
            raise wrong(f"wear assumption {name}", "a share below 0.5", share, "write the share of wrong readings")
    total = sum(member.weight for member in priors.members)
    bad = [m for m in priors.members if m.scatter <= 0 or m.run_in <= 0 or m.weight < 0]
    if bad or not math.isclose(total, 1.0, abs_tol=1e-6):
        raise wrong(
            "wear assumption members",
            "shapes with positive scatter and run-in, and weights that sum to 1",
            f"weights that sum to {total:.4f}" if not bad else f"{len(bad)} shapes with a number that is not positive",
            "correct the mixture or leave it at its default",
        )


def as_text(value: Value) -> str:
    """A prior as people read it, with its unit and spread."""
    unit = " h" if value.dimension == "hours" else ""
    number = f"{value.number:,.0f}" if value.dimension == "hours" else f"{value.number:g}"
    if not value.spread:
        return f"{number}{unit}"
    if value.spread_kind == "relative":
        low, high = (value.number * math.exp(sign * value.spread) for sign in (-1, 1))
        digits = ".0f" if value.dimension == "hours" else ".2g"
        return f"{number}{unit} (about {low:,{digits}} to {high:,{digits}}{unit} in two of three)"
    return f"{number}{unit} give or take {value.spread:g}"
