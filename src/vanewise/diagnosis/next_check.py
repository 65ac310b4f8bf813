"""Which single check splits the causes best for its minutes, and what must not be touched yet.

The expected information of a check is the mutual information between its outcome and what would be repaired. Rows are
resampled from the posterior and cut in two halves: outcomes are simulated from one and judged by the other, because a
row that judges itself recognises itself. The error of a gauge already read is carried along with what its readings
have said of it, so that a fifth reading of the same gauge does not look as good as another gauge.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import Final

import numpy as np

from vanewise import chances
from vanewise.aircraft.description import AircraftDescription
from vanewise.diagnosis import safety
from vanewise.diagnosis.checks import ACCESS_MINUTES, CHECKS, Check
from vanewise.diagnosis.evidence import Prepared
from vanewise.diagnosis.expected import Candidate, Measurable, measurables, measured_worth, table_worth
from vanewise.diagnosis.likelihood import Bools
from vanewise.diagnosis.looking_ahead import (
    FIRST_STEPS,
    Ahead,
    Outlook,
    Plan,
    from_measurable,
    from_table,
    plans,
    would_change,
)
from vanewise.diagnosis.modes import MODES
from vanewise.diagnosis.modes.places import standby
from vanewise.diagnosis.resampling import Sample
from vanewise.diagnosis.state import State
from vanewise.diagnosis.threads import each
from vanewise.diagnosis.types import Cause, NextCheck
from vanewise.network.observe import gyros
from vanewise.network.types import Floats
from vanewise.wording import listed

LEAST_BITS: Final = 0.05
SHARE_OF_BEST: Final = 0.10
MOST_SHOWN: Final = 6
SURE: Final = 0.95
"""A cause this probable is only to be seen before it is repaired (judgement)."""
ENGINE_RISK_MIN: Final = 5.0
"""What running the engine is charged beside its minutes (judgement)."""
SHOP_MIN: Final = 960.0
"""What sending a part away is charged (judgement): two working days."""

_ONCE_OFF: Final[Mapping[str, Collection[str]]] = {
    "pump_off_look": safety.OFF_ITS_PAD,
    "pump_teardown": safety.PUMP_REPAIRS,
}
"""Check -> families of causes whose repair takes the pump off: not asked of a pump that stays on."""


@dataclass(frozen=True, slots=True)
class _Worth:
    """Expected information of a candidate, and what leading causes say it would show."""

    candidate: Candidate
    bits: float
    se: float
    shows: Mapping[str, str]
    outlook: Outlook
    opened: frozenset[str] = frozenset()
    two: Ahead | None = None

    @property
    def minutes(self) -> float:
        return minutes_of(self.candidate, self.opened)

    @property
    def own_rate(self) -> float:
        """Information per minute of this check alone."""
        return self.bits / self.minutes

    @property
    def rate(self) -> float:
        """Information per minute: two checks ahead where that was worked out, else of this one alone."""
        return self.two.rate if self.two is not None else self.own_rate


def access_minutes(check: Check, opened: Collection[str] = ()) -> float:
    """Minutes to get at a check beyond what is open already (shared with others that need the same)."""
    return sum(ACCESS_MINUTES[name] for name in check.access if name not in opened)


def minutes_of(candidate: Candidate, opened: frozenset[str] = frozenset()) -> float:
    """What a check is charged: its minutes, getting there, the risk of an engine run, a shop's days."""
    check = candidate.check
    total = check.minutes + access_minutes(check, opened)
    if check.needs_running_pump and not check.after_any_run:
        total += ENGINE_RISK_MIN
    return total + (SHOP_MIN if check.elsewhere else 0.0)


# ---- candidates -----------------------------------------------------------------------------------------------


def candidates(
    description: AircraftDescription,
    prepared: Prepared,
    causes: Sequence[Cause],
    not_possible: Sequence[str] = (),
    opened: frozenset[str] = frozenset(),
) -> tuple[Candidate, ...]:
    """Checks whose preconditions hold and that have not been done, each at each instrument where that matters."""
    present = {cause.id: cause.present for cause in causes}
    no_run = safety.no_engine_run(present) or safety.seen_of_the_wrong_hand(prepared)
    found: list[Candidate] = []
    for check in CHECKS.values():
        if check.id in not_possible or (no_run and check.needs_running_pump):
            continue
        if not _fits(check, description, prepared, present):
            continue
        if check.id in _ONCE_OFF and not safety.pump_comes_off(prepared, causes, opened, _ONCE_OFF[check.id]):
            continue
        places = [place for place in _places(check, description) if (check.id, place) not in prepared.done]
        found.extend(Candidate(check, place) for place in places)
    return tuple(found)


def has_its_part(description: AircraftDescription, check: Check) -> bool:
    """True when this aircraft has what the check looks at."""
    if check.id == "stop_each_source":
        return len(description.parts_of("pump")) > 1
    if check.id == "standby_test":
        return bool(standby(description))
    if check.needs_part == "lamp":
        return description.lamp is not None
    return not check.needs_part or bool(description.parts_of(check.needs_part))


def _fits(check: Check, description: AircraftDescription, prepared: Prepared, present: Mapping[str, float]) -> bool:
    if check.kind == "table" and not any(mode in present for mode in check.table):
        return False
    if not has_its_part(description, check):
        return False
    if check.kind == "cover test":
        return any(part.open.get("air") == "cabin" for part in description.parts_of("regulator"))
    if check.id == "records_look":
        return not prepared.events
    if check.id == "swap_indicator":
        return not safety.lines_may_shed(description, prepared, present)
    return True


def _places(check: Check, description: AircraftDescription) -> tuple[str, ...]:
    if check.at_instrument:
        kinds = {part.id: part.kind for part in description.parts}
        return tuple(part for part in gyros(description) if check.needs_part in ("", kinds[part]))
    if check.kind == "filter drop":
        return tuple(part.id for part in description.parts if part.kind in ("intake filter", "inline filter"))
    if check.kind == "suction flow":
        regulators = description.parts_of("regulator")
        return (f"{regulators[0].id}.gyro_side",) if regulators else ()
    return ("",)


# ---- the answer ------------------------------------------------------------------------------------------------


def next_checks(
    state: State,
    causes: Sequence[Cause],
    drawn: Callable[[], Sample],
    *,
    not_possible: Sequence[str] = (),
    opened: Collection[str] = (),
) -> tuple[NextCheck, ...]:
    """Checks worth doing next, best first: most expected information for the minutes, none that says next to nothing.

    The best few are judged two checks ahead, the second chosen for each outcome of the first. ``drawn`` gives the rows
    of the posterior they are tried on; ``opened`` is the access that is open already. Empty when the first cause is
    decided and seen directly: then there is nothing left to ask.
    """
    if causes and causes[0].confirmed and causes[0].probability >= SURE:
        return ()
    description = state.bank.packed.description
    open_already = frozenset(opened)
    wanted = candidates(description, state.prepared, causes, not_possible, open_already)
    sample = drawn()
    measuring = [candidate for candidate in wanted if candidate.check.kind != "table"]
    solved = measurables(state, sample, measuring)
    measured = each(partial(measured_worth, sample), [solved[candidate.id] for candidate in measuring])
    worth_of = dict(zip((candidate.id for candidate in measuring), measured, strict=True))
    leading = _rows_of_leading(sample, causes)
    worths = []
    for candidate in wanted:
        if candidate.check.kind == "table":
            bits, se, table = table_worth(sample, candidate)
            shows = _table_shows(candidate, table, leading)
            outlook = from_table(candidate, table)
        else:
            measurable = solved[candidate.id]
            bits, se = worth_of[candidate.id]
            shows = _measured_shows(measurable, leading)
            outlook = from_measurable(candidate, measurable)
        worths.append(_Worth(candidate, bits, se, shows, outlook, open_already))
    best = _to_be_seen(_two_ahead(sample, ranked(worths), open_already), worths, causes)
    over = safety.above_the_band(description, state.prepared)
    best = _looks_before_runs(best) if over else best[:MOST_SHOWN]
    titles = {worth.candidate.id: title_of(description, worth.candidate) for worth in worths}
    told = tuple(_told(worth, sample, titles, at_words(description, worth.candidate.place)) for worth in best)
    return tuple(safety.with_limit(check) for check in told) if over else told


def told_by_table(
    description: AircraftDescription,
    sample: Sample,
    grouped: Sample,
    wanted: Sequence[Candidate],
    causes: Sequence[Cause],
    *,
    of: str,
    opened: Collection[str] = (),
) -> tuple[NextCheck, ...]:
    """Looks with words for outcomes, all of ``wanted``, the most expected information for the minutes first.

    ``grouped`` are the rows of ``sample`` in the groups that the information is of; ``of`` says in words what that is.
    """
    open_already = frozenset(opened)
    leading = _rows_of_leading(sample, causes)
    worths = []
    for candidate in wanted:
        bits, se, table = table_worth(grouped, candidate)
        shows = _table_shows(candidate, table, leading)
        worths.append(_Worth(candidate, bits, se, shows, from_table(candidate, table), open_already))
    worths.sort(key=lambda worth: (-worth.rate, worth.minutes, worth.candidate.id))
    return tuple(_told(worth, sample, {}, at_words(description, worth.candidate.place), of) for worth in worths)


def at_words(description: AircraftDescription, place: str) -> str:
    """A part or a port as the description calls it: ``attitude indicator``, ``regulator, gyro side``."""
    part, _, port = place.partition(".")
    label = next((entry.label for entry in description.parts if entry.id == part), part.replace("_", " "))
    return f"{label}, {port.replace('_', ' ')}" if port else label


def title_of(description: AircraftDescription, candidate: Candidate) -> str:
    """The name of a check with the place it is done at."""
    name, at = candidate.check.name, at_words(description, candidate.place)
    return f"{name} ({at})" if at else name


def _to_be_seen(best: list[_Worth], worths: Sequence[_Worth], causes: Sequence[Cause]) -> list[_Worth]:
    """The list, led by the shortest look at the cause that is as good as sure: it is replaced by sight, not by chance.

    What such a look is expected to tell is little, because its outcome is expected; so it does not lead by its worth.
    """
    if not causes or causes[0].confirmed or causes[0].probability < SURE:
        return best
    lead = causes[0]
    looks = [
        worth
        for worth in worths
        if worth.candidate.check.id in MODES[lead.id].confirms and worth.candidate.place in ("", lead.part)
    ]
    if not looks:
        return best
    first = min(looks, key=lambda worth: (worth.minutes, worth.candidate.id))
    return [first, *(worth for worth in best if worth.candidate.id != first.candidate.id)]


def _looks_before_runs(best: Sequence[_Worth]) -> list[_Worth]:
    """As many as are shown, what needs no engine first, and of that half at least where there is so much."""
    runs, looks = list[_Worth](), list[_Worth]()
    for worth in best:
        (runs if safety.runs_the_engine(worth.candidate.check) else looks).append(worth)
    among = sum(not safety.runs_the_engine(worth.candidate.check) for worth in best[:MOST_SHOWN])
    looks = looks[: max(among, MOST_SHOWN // 2)]
    return [*looks, *runs[: MOST_SHOWN - len(looks)]]


def _two_ahead(sample: Sample, single: list[_Worth], opened: frozenset[str]) -> list[_Worth]:
    """The best single checks put in order by what they and the best check after them say for both their minutes."""
    few = single[:FIRST_STEPS]
    return [*in_order(few, plans(sample, [worth.outlook for worth in few], minutes_of, opened)), *single[FIRST_STEPS:]]


def in_order(few: Sequence[_Worth], planned: Mapping[str, Plan]) -> list[_Worth]:
    """By two checks ahead, each place judged without what stands above it as the second check.

    The second place is for who has done the first or cannot do it. A look that says little by itself would otherwise
    stand there for what the first says, the same pair counted twice.
    """
    left, found = list(few), list[_Worth]()
    while left:
        above = [worth.candidate.id for worth in found]
        left = [replace(worth, two=planned[worth.candidate.id].ahead(above)) for worth in left]
        found.append(_first_of(left))
        left.remove(found[-1])
    return found


def ranked(worths: Sequence[_Worth]) -> list[_Worth]:
    """By information per minute among those that say enough; within the sampling error fewer minutes come first."""
    most = max((worth.bits for worth in worths), default=0.0)
    left = [worth for worth in worths if worth.bits >= max(LEAST_BITS, SHARE_OF_BEST * most)]
    found: list[_Worth] = []
    while left:
        found.append(_first_of(left))
        left.remove(found[-1])
    return found


def _first_of(left: Sequence[_Worth]) -> _Worth:
    """The one with the most information per minute, or the shortest of those that the error does not set apart.

    Two checks ahead, a pair is worth as much in either order. Of checks whose plans are alike within the error, the one
    that says more for its own minutes is done first, so that no quick look leads by what comes after it.
    """
    return min(
        _within_error(_within_error(left, lambda worth: worth.rate), lambda worth: worth.own_rate),
        key=lambda worth: (
            worth.minutes,
            safety.runs_the_engine(worth.candidate.check),
            -worth.rate,
            worth.candidate.id,
        ),
    )


def _within_error(worths: Sequence[_Worth], rate: Callable[[_Worth], float]) -> list[_Worth]:
    """Those that the sampling error does not set apart from the best by ``rate``."""
    best = max(worths, key=rate)
    margin = rate(best) - best.se / best.minutes
    return [worth for worth in worths if rate(worth) + worth.se / worth.minutes >= margin]


def _leading(causes: Sequence[Cause]) -> list[Cause]:
    return [cause for cause in causes[:4] if cause.probability >= 0.02]


def _rows_of_leading(sample: Sample, causes: Sequence[Cause]) -> Mapping[str, Bools]:
    """Rows of each leading cause that has any."""
    sources = np.array(sample.causes)
    found = {cause.id: np.asarray(sources == cause.id, dtype=bool) for cause in _leading(causes)}
    return {cause: rows for cause, rows in found.items() if rows.any()}


def _table_shows(candidate: Candidate, table: Floats, leading: Mapping[str, Bools]) -> Mapping[str, str]:
    shows = {}
    for cause, rows in leading.items():
        mean = table[rows].mean(axis=0)
        best = int(np.argmax(mean))
        shows[cause] = f"{candidate.check.outcomes[best].words} ({chances.about(float(mean[best]))})"
    return shows


def _measured_shows(measurable: Measurable, leading: Mapping[str, Bools]) -> Mapping[str, str]:
    shows = {}
    solved = np.isfinite(measurable.mean).all(axis=1)
    for cause, own in leading.items():
        rows = own & solved
        if not rows.any():
            continue
        low, high = np.quantile(measurable.mean[rows], (0.1, 0.9), axis=0)
        spans = [_span(a, b, measurable.unit) for a, b in zip(low, high, strict=True)]
        told = ", then ".join(spans)
        if measurable.rise:
            told = "no change" if max(abs(low[0]), abs(high[0])) < 0.1 else f"rises {told}"
        shows[cause] = told
    return shows


def _span(low: float, high: float, unit: str) -> str:
    low, high = low + 0.0, high + 0.0
    if abs(high - low) < 0.1:
        return f"about {0.5 * (low + high):.1f} {unit}"
    return f"{low:.1f} to {high:.1f} {unit}"


def _tells(bits: float) -> str:
    """How much a check is expected to settle, in words: a full bit halves what is open (steps by judgement)."""
    return "settles much" if bits >= 0.5 else "settles some" if bits >= 0.2 else "settles a little"


def _told(
    worth: _Worth, sample: Sample, titles: Mapping[str, str], at: str, open_: str = "what is still open"
) -> NextCheck:
    check = worth.candidate.check
    to_open = [name for name in check.access if name not in worth.opened]
    access = f", and {access_minutes(check, worth.opened):.0f} min for {listed(to_open)}" if to_open else ""
    then = () if worth.two is None else tuple(f"{said}: {titles[after]}" for said, after in worth.two.then)
    return NextCheck(
        id=check.id,
        name=check.name,
        minutes=check.minutes,
        expected_bits=worth.bits,
        bits_se=worth.se,
        why=f"{_tells(worth.bits)} of {open_}, for {check.minutes:.0f} min{access}",
        who=check.who,
        cautions=check.cautions,
        preconditions=check.preconditions,
        predicted=worth.shows,
        place=worth.candidate.place,
        at=at,
        code=check.code,
        access_minutes=access_minutes(check, worth.opened),
        access=check.access,
        tools=check.tools,
        method=check.method,
        then=then,
        bits_with_next=None if worth.two is None else worth.two.bits,
        would_change=would_change(sample, worth.outlook),
    )
