"""What people say of it: how likely the remarks about a flight are under a hypothesis, row by row.

A person notices what is there more or less surely, and says some things that are not. Remarks of one person about one
flight stand together: how reliable that person is, is integrated over.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, MutableMapping, Sequence
from dataclasses import dataclass, field
from typing import Final

import numpy as np

from vanewise.aircraft.description import AircraftDescription
from vanewise.diagnosis import likelihood
from vanewise.diagnosis.evidence import RemarkGroup, RemarkItem
from vanewise.diagnosis.hypotheses import Hypothesis, Member
from vanewise.diagnosis.likelihood import Bools
from vanewise.diagnosis.not_fitted import SOURCE_KINDS
from vanewise.diagnosis.predictions import EARLIER, Predicted
from vanewise.diagnosis.symptoms import SYMPTOMS, Drive, GaugeSign, Symptom
from vanewise.diagnosis.wandering import courses_of, felt_in
from vanewise.network.observe import gyros
from vanewise.network.types import Floats
from vanewise.quantities import PA_PER_INHG
from vanewise.values import faa_handbooks

CAP_LOG10: Final = 1.5
"""Most that soft remarks of one person about one flight may say for or against any cause, log10 odds: thirty to one.

A guard, so that words alone do not decide: a cause of one in ten stays under ``answer.DECIDED_AT``. Ten to one was
too little: in 46 public reports whose cause was found, read in words and not kept here, it was reached in 31, and
causes given 0.53 on average were right in 38 of 46 (docs/decisions/0011).
"""
_COAST_MIN: Final = 10.0
_READ_TOP: Final = 0.97
"""Chance that a pointer or lamp plainly on the wrong side is noticed (judgement)."""
PUT_UP_WITH_INHG: Final = 0.15
"""How far past the band's edge a pointer stands before half of those who look complain (judgement: about a pointer's
width and a half)."""
STRIKES_INHG: Final = 0.5
"""How much lower or higher than it used to be strikes half of those who look (judgement)."""
_RARELY: Final = 1e-4
"""No remark is surer than this, either way."""
_GAUGE_WRONG_SIGN: Final = 0.35
"""Chance that a wrong gauge shows any one wrong thing (judgement)."""

Shared = MutableMapping[tuple[str, bool, bool], Floats]
"""What the pressures of some predictions say of a remark, by its id, for hypotheses that drag on no instrument: whether
the gauge is in error, and whether the regulator was set by it."""


@dataclass(slots=True, eq=False)
class Noticing:
    """The remarks of one body of evidence, and what is the same for all hypotheses while they are scored."""

    description: AircraftDescription
    groups: tuple[RemarkGroup, ...]
    bank_quantiles: Floats
    none_remarks: Mapping[str, float] = field(default_factory=dict)
    """Remark id -> probability under 'none of these': its average over all modes."""
    noticed_in_bank: Mapping[tuple[int, int], Floats] = field(default_factory=dict)
    """(remark group, hypothesis) -> probabilities (rows or 1, remarks) in the bank's own rows."""
    said_in_bank: dict[int, Mapping[int, Floats]] = field(default_factory=dict)
    """Remark group -> hypothesis -> log probability of its remarks, (rows or 1,), in the bank's own rows, worked out
    when first asked, for all hypotheses at once."""
    capped_in_bank: dict[int, Mapping[int, Floats]] = field(default_factory=dict)
    """The same for every row, (rows,), soft remarks held to the cap."""
    cap_tops: dict[tuple[int, int | None], float] = field(default_factory=dict)
    """(soft remark group, item left out) -> the most any row of the bank makes of it, worked out when first asked."""

    def log(
        self,
        number: int,
        hypothesis: int,
        subject: Hypothesis,
        quantiles: Floats,
        predicted: Predicted,
        leave_out: int | None,
    ) -> Floats:
        """Log probability of one person's remarks about one flight, (rows,), optionally without one of them.

        ``hypothesis`` is the number of ``subject``, by which the bank's own rows are known.
        """
        group = self.groups[number]
        known = self.noticed_in_bank.get((number, hypothesis)) if quantiles is self.bank_quantiles else None
        if known is not None and leave_out is None:
            return self._capped(number)[hypothesis]
        kept = [place for place in range(len(group.items)) if place != leave_out]
        items = [group.items[place] for place in kept]
        if known is None:
            total = self.group_log(items, subject, quantiles, predicted)
        else:
            total = likelihood.remark_group_log(known[:, kept], *heard(items)) if kept else np.zeros(1)
            total = np.repeat(total, len(quantiles)) if len(total) == 1 else total
        return np.maximum(total, self.cap_floor(number, leave_out)) if group.soft else total

    def _capped(self, number: int) -> Mapping[int, Floats]:
        """:attr:`capped_in_bank` of one group of remarks."""
        if number not in self.capped_in_bank:
            floor = self.cap_floor(number) if self.groups[number].soft else -math.inf
            rows = len(self.bank_quantiles)
            self.capped_in_bank[number] = {
                mode: np.repeat(np.maximum(said, floor), rows if len(said) == 1 else 1)
                for mode, said in self.all_said(number).items()
            }
        return self.capped_in_bank[number]

    def all_said(self, number: int) -> Mapping[int, Floats]:
        """:attr:`said_in_bank` of one group of remarks."""
        if number not in self.said_in_bank:
            tables = {mode: table for (group, mode), table in self.noticed_in_bank.items() if group == number}
            together = np.concatenate(list(tables.values()))
            logs = likelihood.remark_group_log(together, *heard(self.groups[number].items))
            ends = np.cumsum([len(table) for table in tables.values()])[:-1]
            self.said_in_bank[number] = dict(zip(tables, np.split(logs, ends), strict=True))
        return self.said_in_bank[number]

    def cap_floor(self, number: int, leave_out: int | None = None) -> float:
        """The least a group of soft remarks may come to: thirty times below the most that any row of the bank gives."""
        mark = (number, leave_out)
        if mark not in self.cap_tops:
            self.cap_tops[mark] = self._most_said(number, leave_out)
        return self.cap_tops[mark] - CAP_LOG10 * math.log(10.0)

    def _most_said(self, number: int, leave_out: int | None) -> float:
        """The most any row of the bank makes of a group of remarks, optionally without one of them."""
        if leave_out is None:
            return float(np.nanmax(np.concatenate(list(self.all_said(number).values()))))
        items = self.groups[number].items
        kept = [place for place in range(len(items)) if place != leave_out]
        if not kept:
            return 0.0
        columns = [table[:, kept] for (group, _), table in self.noticed_in_bank.items() if group == number]
        logs = likelihood.remark_group_log(np.concatenate(columns), *heard([items[place] for place in kept]))
        return float(np.nanmax(logs))

    def group_log(
        self, items: Sequence[RemarkItem], subject: Hypothesis, quantiles: Floats, predicted: Predicted
    ) -> Floats:
        """Log probability of some remarks of one group, before any cap."""
        rows = len(quantiles)
        if not items:
            return np.zeros(rows)
        total = likelihood.remark_group_log(self.all_noticed(items, subject, quantiles, predicted), *heard(items))
        return np.repeat(total, rows) if len(total) == 1 else total

    def all_noticed(
        self,
        items: Sequence[RemarkItem],
        subject: Hypothesis,
        quantiles: Floats,
        predicted: Predicted,
        shared: Shared | None = None,
    ) -> Floats:
        """:meth:`noticed` of several remarks, (rows, remarks); one row says it for all where no pressure moves any.

        Of an effect that may have gone in the course of the run, the average over the ways it may have stood.
        ``shared`` keeps what other hypotheses with the same ``predicted`` may use.
        """

        def told(felt: Predicted, known: Shared | None = None) -> Floats:
            columns = [self.noticed(item, subject, quantiles, felt, known) for item in items]
            return columns[0][:, None] if len(columns) == 1 else np.stack(np.broadcast_arrays(*columns), axis=1)

        courses = courses_of(subject)
        if len(courses) == 1:
            return told(predicted, shared)
        return np.asarray(sum(course.chance * told(felt_in(predicted, course)) for course in courses))

    def noticed(
        self,
        item: RemarkItem,
        subject: Hypothesis,
        quantiles: Floats,
        predicted: Predicted,
        shared: Shared | None = None,
    ) -> Floats:
        """Probability that the thing is there to be noticed, (rows,), or (1,) where no pressure moves it."""
        if subject.kind == "none":
            return np.full(1, self.none_remarks.get(item.id, SYMPTOMS[item.symptom].base))
        symptom = SYMPTOMS[item.symptom]
        dead = any(member.mode.level == "supply dead" for member in subject.members)
        if dead and item.minutes_after is not None and item.minutes_after <= _COAST_MIN and symptom.after_stop:
            return np.full(1, symptom.after_stop)
        if symptom.of_what_stays is not None and self.stays_away(subject):
            return np.full(1, symptom.of_what_stays)
        mark = (item.id, subject.has("gauge_in_error"), subject.set_by_wrong_gauge)
        known = {} if shared is None or subject.drags(item.about) else shared
        if mark not in known:
            known[mark] = self._from_pressures(symptom, item, subject, quantiles, predicted)
        found = known[mark]
        for member in subject.members:
            if _concerns(member, item, self.description):
                found = 1.0 - (1.0 - found) * (1.0 - member.mode.signs.get(symptom.id, 0.0))
        return np.asarray(np.minimum(np.maximum(found, _RARELY), 1.0 - _RARELY))

    def stays_away(self, subject: Hypothesis) -> bool:
        """True where the only pump is lost for good: with a second one the supply may well be right again."""
        return len(self.description.parts_of("pump")) == 1 and any(member.mode.stays for member in subject.members)

    def _from_pressures(
        self, symptom: Symptom, item: RemarkItem, subject: Hypothesis, quantiles: Floats, predicted: Predicted
    ) -> Floats:
        low, over = symptom.drive, symptom.over
        found = np.full(1, symptom.base)
        if low is not None and (f"drop {item.about}", low.at[0]) in predicted.felt:
            kept = 1.0 - subject.drag(item.about, quantiles)
            driven = _felt_drop(item.about, low, predicted) * kept[:, None]
            step = _average(likelihood.sigmoid((low.threshold_inhg - driven) / low.width_inhg))
            found = np.asarray(symptom.base + (low.top - symptom.base) * step)
        if over is not None and (f"drop {item.about}", over.at[0]) in predicted.felt:
            drop = _felt_drop(item.about, over, predicted)
            step = _average(likelihood.sigmoid((drop - over.threshold_inhg) / over.width_inhg))
            found = 1.0 - (1.0 - found) * (1.0 - over.top * step)
        if low is not None or over is not None:
            return found
        if symptom.gauge is not None:
            return self._from_gauge(symptom, symptom.gauge, subject, predicted)
        return np.full(1, symptom.base)

    def _from_gauge(self, symptom: Symptom, sign: GaugeSign, subject: Hypothesis, predicted: Predicted) -> Floats:
        if sign.of_lamp and self.description.lamp is None:
            return np.full(1, symptom.base)
        seen = predicted.set_again() if subject.set_by_wrong_gauge else predicted
        step = _average((self._late if sign.side == "lamp late" else self._wrong_side)(sign, seen))
        if not sign.of_lamp and subject.has("gauge_in_error"):
            step = np.maximum(step, _GAUGE_WRONG_SIGN)
        return np.asarray(symptom.base + (_READ_TOP - symptom.base) * step)

    def _late(self, sign: GaugeSign, predicted: Predicted) -> Floats:
        """Chance that a lamp is still lit where it used to be out, (rows, variants)."""
        trip = self._trip_inhg()
        lit = likelihood.sigmoid((trip - predicted.felt["lamp", sign.at]) / sign.width_inhg)
        was_out = likelihood.sigmoid((predicted.felt["lamp" + EARLIER, sign.at] - trip) / sign.width_inhg)
        return np.asarray(lit * was_out)

    def _wrong_side(self, sign: GaugeSign, predicted: Predicted) -> Floats:
        """Chance that what is shown is seen to be on the wrong side, (rows, variants)."""
        return likelihood.sigmoid(self._beyond(sign, predicted) / sign.width_inhg)

    def _beyond(self, sign: GaugeSign, predicted: Predicted) -> Floats:
        """How far what is shown lies beyond what a person would put up with, inHg."""
        gauge = self.description.gauge
        value = predicted.felt["lamp" if sign.side == "lamp" else "gauge", sign.at]
        # The gauge that the regulator was set by reads its setting there, right or wrong: what it is off by cancels.
        shown = value - predicted.set_off[:, None]
        if sign.side == "low":
            edge = (gauge.band_low or faa_handbooks.GAUGE_BAND_LOW).number / PA_PER_INHG
            return np.asarray(edge - PUT_UP_WITH_INHG - shown)
        if sign.side == "high":
            edge = (gauge.band_high or faa_handbooks.GAUGE_BAND_HIGH).number / PA_PER_INHG
            return np.asarray(shown - PUT_UP_WITH_INHG - edge)
        if sign.side == "zero":
            return np.asarray(0.6 - value)
        if sign.side == "lamp":
            return np.asarray(self._trip_inhg() - value)
        risen = value - predicted.felt["gauge" + EARLIER, sign.at]
        return np.asarray((risen if sign.side == "risen" else -risen) - STRIKES_INHG)

    def _trip_inhg(self) -> float:
        lamp = self.description.lamp
        return lamp.trip.number / PA_PER_INHG if lamp is not None else 0.0


def _average(step: Floats) -> Floats:
    """Mean over the variants of (rows, variants), of which there is often one."""
    return step[:, 0] if step.shape[1] == 1 else np.asarray(step.mean(axis=1))


def _felt_drop(about: str, drive: Drive, predicted: Predicted) -> Floats:
    """Drop across an instrument where it is felt, inHg, (rows, variants): the mean of the conditions."""
    found: Floats = sum((predicted.felt[f"drop {about}", at] for at in drive.at), np.zeros((1, 1)))
    return found / len(drive.at)


def _concerns(member: Member, item: RemarkItem, description: AircraftDescription) -> bool:
    """A sign of one instrument or of one source of air does not show at another, nor that of one place of a mode at its
    other places. A hose that stands for its stretch is no such place: what is said of its neighbour may be of it."""
    placed = [place.part for place in member.places]
    if not item.about or item.about in placed:
        return True
    instruments = gyros(description)
    if item.about in instruments:
        return not any(part in instruments for part in placed)
    sources = _sources(description)
    if item.about in sources and any(part in sources for part in placed):
        return False
    return all(place.part != item.about for place in member.mode.places(description))


def _sources(description: AircraftDescription) -> frozenset[str]:
    """Every part that moves air for the gyros, or lets the engine do so."""
    return frozenset(part.id for kind in SOURCE_KINDS for part in description.parts_of(kind))


def heard(items: Sequence[RemarkItem]) -> tuple[Bools, Bools]:
    """Which of the remarks say that the thing was there, and which are read off a pointer or a lamp."""
    present = np.array([item.present for item in items], dtype=bool)
    return present, np.array([SYMPTOMS[item.symptom].gauge is not None for item in items], dtype=bool)
