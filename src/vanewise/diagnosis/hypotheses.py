"""What may be going on: single modes, causal chains with their source and victims told apart, pairs, none of these.

A chain's prior is the source's rate times the share of such sources that go on to these victims (judgement). A pair's
prior is the product of two probabilities within :data:`WINDOW_H`; no free factor. Members stand in causal order, the
first being the source.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Final, Literal

import msgspec
import numpy as np

from vanewise.aircraft.description import AircraftDescription, Duty
from vanewise.diagnosis.effects import StateChange
from vanewise.diagnosis.modes import MODES, NONE_OF_THESE, NOTHING_WRONG, FailureMode, Place, applicable
from vanewise.diagnosis.modes.base import BOTH_DUTIES, NOTHING
from vanewise.diagnosis.modes.places import FEEDS_ONE
from vanewise.diagnosis.symptoms import SYMPTOMS, word_and_part
from vanewise.network.types import Floats

WINDOW_H: Final = 100.0
"""Time within which a fault is thought to have come up unseen, h (judgement): a rate times this is a probability."""

UNSAID: Final = 0.2
"""What is left of the rate of a fault that can be no cause of the complaint and showed no sign of its own: it is found
on the way to something else (judgement)."""
UNSAID_OF_OTHERS: Final = 0.5
"""What is left of the rate of a supply that fails all instruments where one alone is complained of, and nobody read a
gauge or said a word of it or of the others: who loses both tells of both. Of ten public reports of the kind nine were
the instrument or its mounting, given 0.3 before (docs/decisions/0011); half is taken, as whoever writes knows the
end."""
COMPLAINTS: Final = ("attitude", "heading", "power", "autopilot")
"""Groups of symptoms that are complaints; what is seen on a part is none."""
_OF_INSTRUMENTS: Final = ("attitude", "heading", "autopilot")
"""Groups of complaints of an instrument, or of what follows it."""
OF_ANY: Final = frozenset(
    {
        "comes_and_goes",
        "suddenly_worse",
        "crept_over_months",
        "worse_when_hot",
        "right_again_once_warm",
        "good_alone_bad_together",
        "fault_went_with_instrument",
    }
)
"""What stands among the words of the supply and is said of any complaint, or of an instrument."""
_TELLS: Final = 0.2
"""A sign this often there with a mode would have been the report about it (judgement)."""


class Chain(msgspec.Struct, frozen=True, kw_only=True):
    """Source mode -> victims, and the share of such sources that show exactly these victims (judgement)."""

    source: str
    victims: tuple[str, ...]
    share: float
    words: str
    duties: tuple[Duty, ...] = BOTH_DUTIES
    every_place: bool = False
    """True when the last victim is meant at all its places at once (both instruments contaminated)."""
    other_place: bool = False
    """True when the one victim is the source's own mode at another place (the other pump, the other instrument)."""


_STOPS: Final = ("coupling_sheared",)

CHAINS: Final[tuple[Chain, ...]] = (
    Chain(
        source="debris_left_in_lines",
        victims=_STOPS,
        share=0.25,
        words="the former pump's debris jams the new rotor and its coupling parts",
        duties=("suction",),
    ),
    Chain(
        source="debris_left_in_lines",
        victims=("regulator_seat_dirty",),
        share=0.22,
        words="the former pump's carbon beds in the regulator seat",
    ),
    Chain(
        source="debris_left_in_lines",
        victims=("worn_vanes",),
        share=0.13,
        words="the former pump's carbon scores the new pump",
        duties=("suction",),
    ),
    Chain(
        source="debris_left_in_lines",
        victims=("regulator_seat_dirty", "worn_vanes"),
        share=0.22,
        words="the former pump's carbon beds in the regulator seat and scores the new pump",
        duties=("suction",),
    ),
    Chain(
        source="debris_left_in_lines",
        victims=("regulator_seat_dirty", "coupling_sheared"),
        share=0.18,
        words="the former pump's carbon beds in the regulator seat and jams the new rotor",
        duties=("suction",),
    ),
    Chain(
        source="debris_left_in_lines",
        victims=("inline_filter_loaded",),
        share=0.40,
        words="carbon left in the lines by the former pump fills the inline filter",
        duties=("pressure",),
    ),
    Chain(source="worn_vanes", victims=_STOPS, share=0.25, words="a short vane cocks in its slot and jams the rotor"),
    Chain(
        source="worn_vanes",
        victims=("inline_filter_loaded",),
        share=0.30,
        words="the pump's carbon fills the inline filter",
        duties=("pressure",),
    ),
    Chain(
        source="worn_vanes",
        victims=("inline_filter_loaded", "indicator_contaminated"),
        share=0.06,
        words="the pump's carbon fills the inline filter and passes it into one instrument",
        duties=("pressure",),
    ),
    Chain(
        source="worn_vanes",
        victims=("inline_filter_loaded", "indicator_contaminated"),
        share=0.06,
        words="the pump's carbon fills the inline filter and passes it into every instrument",
        duties=("pressure",),
        every_place=True,
    ),
    Chain(
        source="worn_vanes",
        victims=("indicator_contaminated",),
        share=0.04,
        words="the pump's carbon passes a leaking filter seal into an instrument",
        duties=("pressure",),
    ),
    Chain(
        source="worn_vanes",
        victims=("regulator_seat_dirty",),
        share=0.08,
        words="the pump's carbon beds in the relief seat",
        duties=("pressure",),
    ),
    # By its rate the other pump had stopped within WINDOW_H in 4 of 100 cases; as many again for one age, one debris,
    # one event that takes both (judgement).
    Chain(
        source="coupling_sheared",
        victims=_STOPS,
        share=0.08,
        words="one pump had stopped unnoticed and then the other, or one thing took both: no pump is left",
        other_place=True,
    ),
    # Two of an age, in the same air, fitted by the same hands (judgement).
    Chain(
        source="indicator_bearing",
        victims=("indicator_bearing",),
        share=0.05,
        words="two instruments are worn, each by itself",
        other_place=True,
    ),
    # By its rate a standby fails in 1 of 100 years of 100 hours, not counting what standing idle does, and nobody knows
    # until it is asked for (judgement).
    Chain(
        source="coupling_sheared",
        victims=("standby_inoperative",),
        share=0.04,
        words="the standby had failed unnoticed before the pump stopped: no source is left",
    ),
    Chain(source="oil_in_pump", victims=_STOPS, share=0.30, words="oil and carbon paste lock the rotor"),
    Chain(source="solvent_or_water_in_pump", victims=_STOPS, share=0.40, words="wet paste locks the rotor"),
    Chain(source="pump_overheated", victims=_STOPS, share=0.40, words="heat cracks the rotor or cooks the coupling"),
    Chain(source="pump_damaged_when_fitted", victims=_STOPS, share=0.40, words="the squeezed rotor breaks"),
    Chain(
        source="pump_outlet_blocked",
        victims=_STOPS,
        share=0.10,
        words="the pump works against a closed outlet until it breaks",
        duties=("suction",),
    ),
    Chain(source="pad_seal_leak", victims=("oil_in_pump",), share=0.20, words="oil past the pad seal enters the pump"),
    Chain(source="pad_gasket_wrong", victims=("oil_in_pump",), share=0.05, words="oil from the joint enters the pump"),
    Chain(source="pump_rotation_wrong", victims=_STOPS, share=0.40, words="vanes cock in the wrong hand and jam"),
    Chain(source="sealant_drawn_in", victims=_STOPS, share=0.35, words="a string of sealant jams the rotor"),
    Chain(
        source="sealant_drawn_in",
        victims=("regulator_seat_dirty",),
        share=0.25,
        words="sealant beds in the regulator seat",
    ),
    Chain(
        source="hose_liner_loose",
        victims=_STOPS,
        share=0.10,
        words="a sliver of the liner jams the rotor",
        duties=("suction",),
    ),
    Chain(
        source="regulator_filter_missing",
        victims=("regulator_seat_dirty",),
        share=0.40,
        words="unfiltered air leaves grit on the seat",
    ),
    Chain(
        source="intake_filter_missing",
        victims=("indicator_contaminated",),
        share=0.30,
        words="unfiltered cabin air dirties an instrument",
        duties=("suction",),
    ),
    Chain(
        source="inline_filter_missing",
        victims=("indicator_contaminated",),
        share=0.40,
        words="the pump's carbon goes past the filter's seat into an instrument",
        duties=("pressure",),
    ),
    Chain(
        source="regulator_filter_clogged",
        victims=("regulator_seat_dirty",),
        share=0.15,
        words="crumbs of the old foam bed in the seat",
    ),
    Chain(
        source="gauge_in_error",
        victims=("regulator_low",),
        share=0.12,
        words="the regulator was set by a gauge that reads high, so the reading looks right and the air is weak",
    ),
    Chain(
        source="gauge_in_error",
        victims=("regulator_high",),
        share=0.05,
        words="the regulator was set by a gauge that reads low, so the reading looks right and the suction is high",
    ),
)

_SAME_JOB: Final = ("gyro_changed", "panel_work")
"""Two words of one job: an instrument comes out by work behind the panel."""
_NEVER_ALONE: Final = frozenset({"debris_left_in_lines"})
"""Modes that nobody would report unless a victim shows."""


@dataclass(frozen=True, slots=True)
class Member:
    """One mode at one or several places, with the column of the severity draw it uses."""

    mode: FailureMode
    places: tuple[Place, ...]
    severity: int


@dataclass(frozen=True, slots=True, eq=False)
class Hypothesis:
    """One thing that may be going on. ``share`` multiplies the source's prior rate."""

    id: str
    kind: Literal["single", "chain", "pair", "none"]
    members: tuple[Member, ...]
    share: float
    words: str = ""
    mode_ids: tuple[str, ...] = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "mode_ids", tuple(member.mode.id for member in self.members))

    @property
    def source(self) -> FailureMode:
        return self.members[0].mode

    @property
    def part(self) -> str:
        return self.members[0].places[0].part

    def changes(self, description: AircraftDescription, quantiles: Floats) -> tuple[StateChange, ...]:
        """Changes of states in each row. ``quantiles`` has shape (rows, 3), severity quantiles in (0, 1)."""
        found: list[StateChange] = []
        for member in self.members:
            severity = member.mode.severity.at(quantiles[:, member.severity])
            for place in member.places:
                found.extend(member.mode.effect(description, place, severity))
        return tuple(found)

    def drag(self, part: str, quantiles: Floats) -> Floats:
        """Share of drive lost inside the instrument ``part`` in each row, shape (rows,)."""
        kept = np.ones(len(quantiles))
        for member in self._dragging(part):
            kept = kept * (1.0 - member.mode.severity.at(quantiles[:, member.severity]))
        return np.asarray(1.0 - kept)

    def drags(self, part: str) -> bool:
        """True when some drive is lost inside the instrument ``part``."""
        return bool(self._dragging(part))

    def _dragging(self, part: str) -> list[Member]:
        return [m for m in self.members if m.mode.gyro_drag and any(place.part == part for place in m.places)]

    def has(self, mode_id: str) -> bool:
        return mode_id in self.mode_ids

    @property
    def set_by_wrong_gauge(self) -> bool:
        """Whether the regulator was set by a gauge that is wrong, which then reads right where it was set."""
        return self.kind == "chain" and self.source.id == "gauge_in_error"

    @property
    def goes(self) -> float:
        """Chance that its effect goes while the engine runs itself warm. Beside another fault it is taken to wander."""
        return self.members[0].mode.goes if len(self.members) == 1 else 0.0

    def network_free(self) -> bool:
        """True when no member changes the air network: its rows are the sound rows."""
        return not any(member.mode.changes_network() for member in self.members)


def _name(mode: FailureMode, places: tuple[Place, ...], all_places: int) -> str:
    if all_places <= 1:
        return mode.id
    return f"{mode.id}@{'+'.join(place.part for place in places)}"


def singles_and_chains(description: AircraftDescription) -> tuple[Hypothesis, ...]:
    """Every single mode and chain this aircraft can have, 'none of these' last."""
    where = {mode.id: places for mode, places in applicable(description)}
    found: list[Hypothesis] = []
    for mode_id, places in where.items():
        if mode_id == NONE_OF_THESE.id:
            continue
        mode = MODES[mode_id]
        chains = [chain for chain in CHAINS if chain.source == mode_id and _fits(chain, description, where)]
        alone = max(0.0, 1.0 - sum(chain.share for chain in chains))
        if mode_id not in _NEVER_ALONE:
            for place in places:
                name = _name(mode, (place,), len(places))
                found.append(Hypothesis(name, "single", (Member(mode, (place,), 0),), alone / len(places)))
        for chain in chains:
            found.extend(_of_chain(chain, where))
    none = Member(NONE_OF_THESE, (Place(part="", label=""),), 0)
    found.append(Hypothesis(NONE_OF_THESE.id, "none", (none,), 1.0))
    return tuple(found)


def _fits(chain: Chain, description: AircraftDescription, where: Mapping[str, tuple[Place, ...]]) -> bool:
    if chain.other_place and len(where[chain.source]) < 2:
        return False
    return description.duty in chain.duties and all(victim in where for victim in chain.victims)


def _of_chain(chain: Chain, where: Mapping[str, tuple[Place, ...]]) -> list[Hypothesis]:
    """The chain at each place of its source (representative) and, where it matters, of its last victim."""
    source_places = where[chain.source]
    last = where[chain.victims[-1]]
    if chain.other_place:
        return _of_two_places(chain, source_places)
    if chain.every_place and len(last) < 2:
        return []
    found: list[Hypothesis] = []
    for source_place in source_places:
        at_last = _beside(source_place, last)
        choices = (at_last,) if chain.every_place else tuple((place,) for place in at_last)
        for choice in choices:
            placed: list[tuple[FailureMode, tuple[Place, ...]]] = [(MODES[chain.source], (source_place,))]
            placed += [(MODES[victim], _beside(source_place, where[victim])[:1]) for victim in chain.victims[:-1]]
            placed.append((MODES[chain.victims[-1]], choice))
            names = [_name(MODES[chain.source], (source_place,), len(source_places))]
            names += chain.victims[:-1]
            names.append(_name(MODES[chain.victims[-1]], choice, len(last)))
            share = chain.share / (len(choices) * len(source_places))
            found.append(Hypothesis(">".join(names), "chain", _members(placed), share, chain.words))
    return found


def _of_two_places(chain: Chain, places: tuple[Place, ...]) -> list[Hypothesis]:
    """A mode at each two of its places. Which of them came first nobody can tell: one order stands for both."""
    mode = MODES[chain.source]
    couples = [(first, second) for number, first in enumerate(places) for second in places[number + 1 :]]
    return [
        Hypothesis(
            ">".join(_name(mode, (place,), len(places)) for place in couple),
            "chain",
            _members([(mode, (place,)) for place in couple]),
            chain.share / len(couples),
            chain.words,
        )
        for couple in couples
    ]


def _beside(source: Place, places: tuple[Place, ...]) -> tuple[Place, ...]:
    """Where a victim can be: in the source's own part if it can be there (what jams a pump jams that pump)."""
    own = tuple(place for place in places if place.part == source.part)
    return own or places


def _members(placed: Sequence[tuple[FailureMode, tuple[Place, ...]]]) -> tuple[Member, ...]:
    """Members with severity columns counted only over modes that have a severity: alike hypotheses share solves."""
    members: list[Member] = []
    column = 0
    for mode, places in placed:
        members.append(Member(mode, places, column))
        column += mode.severity.kind != "none"
    return tuple(members)


def pair(first: Hypothesis, second: Hypothesis) -> Hypothesis | None:
    """Two single hypotheses at once, or None where they are the same mode or cannot stand together."""
    a, b = first.members[0], second.members[0]
    if first.kind != "single" or second.kind != "single" or a.mode.id == b.mode.id:
        return None
    if NOTHING_WRONG in (a.mode, b.mode):
        return None
    members = _members([(a.mode, a.places), (b.mode, b.places)])
    return Hypothesis(f"{first.id}+{second.id}", "pair", members, first.share * second.share)


def context_factor(hypothesis: Hypothesis, events: Mapping[str, float]) -> float:
    """Product of the factors of every member's modes for the events, each raised to the event's freshness (0 to 1).

    ``events`` go by their :func:`~vanewise.diagnosis.symptoms.event_name`. An event about one instrument counts as not
    said for a mode that sits in other instruments and nowhere else, one about one pump likewise for other pumps, one
    about a hose for a mode that sits in other hoses; a mode that sits elsewhere (a line, a cap, where an instrument was
    changed) has it whichever part it was. Of several events of one word that count for a mode, the freshest does. An
    instrument changed is work behind the panel: said of one job in both words, the larger factor counts. What makes
    source and victim of a chain likelier counts once, by the larger factor: the victim is likely where the source is,
    by the chain's share.
    """
    factor = 1.0
    raised: dict[str, float] = {}
    for number, member in enumerate(hypothesis.members):
        fresh: dict[str, float] = {}
        for event in sorted(events):
            kind, about = word_and_part(event)
            if not _of_another(member, about):
                fresh[kind] = max(events[event], fresh.get(kind, 0.0))
        began = member.mode.source_contexts if number == 0 or hypothesis.kind == "pair" else NOTHING
        own = {
            kind: (member.mode.contexts.get(kind, 1.0) * began.get(kind, 1.0)) ** weight
            for kind, weight in fresh.items()
        }
        if hypothesis.kind == "chain":
            for kind, by in own.items():
                before = raised.get(kind, 1.0)
                own[kind] = by if by <= 1.0 else max(by, before) / before
                raised[kind] = max(by, before)
        twice = [own[event] for event in _SAME_JOB if own.get(event, 1.0) > 1.0]
        factor *= math.prod(own.values()) / (min(twice) if len(twice) == len(_SAME_JOB) else 1.0)
    return factor


def _of_another(member: Member, about: str) -> bool:
    """True where the member sits in parts like the one named, and not in that one."""
    places = member.places
    return bool(places) and all(
        about in place.other_lines or (about in place.among and about != place.part) for place in places
    )


def _silent(member: Member) -> bool:
    return member.mode.silent or (bool(member.places) and all(place.silent for place in member.places))


def _told_by(member: Member, said: Collection[str]) -> bool:
    return any(member.mode.signs.get(symptom, 0.0) >= _TELLS for symptom in said)


def complained_of(said: Collection[str]) -> bool:
    """True where something of instruments, gauge or autopilot was said."""
    return any(SYMPTOMS[symptom].group in COMPLAINTS for symptom in said)


def _of_the_supply_alone(said: Collection[str]) -> bool:
    """True where the complaint is of gauge, lamp or supply, and not a word of an instrument."""
    groups = {SYMPTOMS[symptom].group for symptom in said if symptom not in OF_ANY}
    return "power" in groups and not groups.intersection(_OF_INSTRUMENTS)


def _within_one_instrument(member: Member) -> bool:
    return member.mode.level == "one instrument"


_SUPPLY: Final = frozenset({"supply dead", "supply weak", "supply high"})


def _reaches_all(member: Member) -> bool:
    return member.mode.level in _SUPPLY and not all(place.note == FEEDS_ONE for place in member.places)


def unsaid_factor(hypothesis: Hypothesis, said: Collection[str], of_one: bool = False) -> float:
    """1, or :data:`UNSAID` for what can be no cause of the report when no sign of its own was said with it.

    Of a complaint what is silent is none, and of one of gauge, lamp or supply alone no fault within an instrument is;
    where something was seen on a part and nobody complains, what shows in flight would have been complained of. With
    ``of_one``, where one instrument of several is all that anybody spoke of, :data:`UNSAID_OF_OTHERS` for what
    fails them all.
    """
    members = hypothesis.members
    if not said or hypothesis.kind == "none":
        return 1.0
    if complained_of(said):
        elsewhere = _of_the_supply_alone(said) and all(_within_one_instrument(member) for member in members)
        if not elsewhere and not all(_silent(member) for member in members):
            return UNSAID_OF_OTHERS if of_one and any(_reaches_all(member) for member in members) else 1.0
    return 1.0 if any(_told_by(member, said) for member in members) else UNSAID


def prior_weight(
    hypothesis: Hypothesis, events: Mapping[str, float], said: Collection[str] = (), of_one: bool = False
) -> float:
    """Prior weight: expected number of such faults in :data:`WINDOW_H` hours, context included (not normalised).

    ``said`` are the symptoms of the report: rates are rates of reports, and a report is about what was said.
    ``of_one`` is true where one instrument of several is all it speaks of.
    """
    window = WINDOW_H / 1000.0
    rates = [member.mode.rate.number for member in hypothesis.members]
    if hypothesis.kind == "pair":
        base = rates[0] * window * rates[1] * window
    else:
        base = rates[0] * window
    return base * hypothesis.share * context_factor(hypothesis, events) * unsaid_factor(hypothesis, said, of_one)


def prior_weights(
    hypotheses: Sequence[Hypothesis], events: Mapping[str, float], said: Collection[str] = (), of_one: bool = False
) -> Floats:
    """:func:`prior_weight` of each hypothesis, in their order."""
    return np.array([prior_weight(hypothesis, events, said, of_one) for hypothesis in hypotheses])


def by_source(hypotheses: Sequence[Hypothesis]) -> Mapping[str, tuple[int, ...]]:
    """Source mode id -> indices of its hypotheses, in order."""
    groups: dict[str, list[int]] = {}
    for index, hypothesis in enumerate(hypotheses):
        groups.setdefault(hypothesis.source.id, []).append(index)
    return MappingProxyType({mode: tuple(indices) for mode, indices in groups.items()})
