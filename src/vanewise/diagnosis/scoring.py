"""Score rows of a hypothesis against the evidence, group by group, so that any one item can be left out.

A group is what shares a latent: all readings of one gauge, all lamp readings, one person's remarks about one flight,
one check. Groups are independent given the row.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import Final, Literal

import numpy as np

from vanewise.aircraft.description import AircraftDescription
from vanewise.diagnosis import likelihood
from vanewise.diagnosis.evidence import PANEL, GaugeGroup, Prepared
from vanewise.diagnosis.hypotheses import Hypothesis
from vanewise.diagnosis.likelihood import Bools, SharedError
from vanewise.diagnosis.noticing import Noticing
from vanewise.diagnosis.predictions import Predicted, picked
from vanewise.diagnosis.scored_checks import check_log
from vanewise.diagnosis.set_by_gauge import Errors, SetByGauge, TiedInBank, gauge_kinds
from vanewise.diagnosis.sister import Kin, sister_log
from vanewise.diagnosis.wandering import LAMP_LATE, STANDS, UNEVEN, Manner, courses_of, either, manners_of, wander_of
from vanewise.network.types import Floats
from vanewise.quantities import PA_PER_INHG

GroupKey = tuple[Literal["gauge", "lamp", "remarks", "check"], int]
Terms = tuple[Floats, Floats, Floats]
"""Predicted (rows, n), observed (n,) and variance (rows, n) of readings."""
Era = tuple[Bools, Errors]
"""Readings (n,) of one gauge, and what it may be off by."""
GaugeKind = tuple[bool, int, bool, float, float]
"""What decides how gauges and lamp are scored: none of these, gauge in error (2: and the regulator set by it), lamp
false, how far an effect wanders, how likely it goes."""

_LEAST_SLOPE: Final = 3e-4
_WITHIN: Final = 1.0 / 3.0


@dataclass(frozen=True, slots=True, eq=False)
class Rows:
    """Rows of one hypothesis, with the logarithm of prior over proposal density of each (0 for the bank's own)."""

    hypothesis: int
    deviates: Floats
    """(rows, dimensions) standard normal deviates the rows were drawn with."""
    quantiles: Floats
    log_base: Floats
    predicted: Predicted
    parts: Mapping[GroupKey, Floats]

    def log_weights(self, without: GroupKey | None = None, instead: Floats | None = None) -> Floats:
        """Log of prior over proposal times likelihood, optionally with one group exchanged."""
        total = self.log_base.copy()
        for key in sorted(self.parts):
            total += instead if key == without and instead is not None else self.parts[key]
        finite = np.isfinite(total)
        return total if finite.all() else np.where(finite, total, -np.inf)


@dataclass(slots=True, eq=False)
class Scorer:
    """Everything that is the same for all hypotheses while one body of evidence is scored."""

    description: AircraftDescription
    prepared: Prepared
    hypotheses: tuple[Hypothesis, ...]
    reference: Predicted
    """Medians of the sound system today: one row."""
    remarks: Noticing
    """What people say of it."""
    deep: set[int]
    """Gauges with so poor a best fit that two and three slips of the pen are counted."""
    kin: Mapping[int, Kin]
    """Gauge group of a sister aircraft -> where sound readings of such aircraft lie."""
    tie: SetByGauge | None
    """How the regulator's true setting and the panel gauge's error hang together."""
    tied_in_bank: TiedInBank | None
    """Where the regulator was set in the bank's own rows, and what that says of the gauge's error there."""

    def group_keys(self) -> tuple[GroupKey, ...]:
        prepared = self.prepared
        found: list[GroupKey] = [("gauge", number) for number in range(len(prepared.gauges))]
        if prepared.lamps:
            found.append(("lamp", 0))
        found += [("remarks", number) for number in range(len(prepared.remarks))]
        return (*found, *(("check", number) for number in range(len(prepared.checks))))

    def items_of(self, key: GroupKey) -> tuple[str, ...]:
        """Ids of the items of a group, in its order."""
        kind, number = key
        if kind == "gauge":
            return tuple(item.id for item in self.prepared.gauges[number].items)
        if kind == "lamp":
            return tuple(item.id for item in self.prepared.lamps)
        if kind == "remarks":
            return tuple(item.id for item in self.prepared.remarks[number].items)
        return (self.prepared.checks[number].id,)

    def score(
        self,
        hypothesis: int,
        deviates: Floats,
        quantiles: Floats,
        log_base: Floats,
        predicted: Predicted,
        sound: Predicted | None = None,
    ) -> Rows:
        """All groups of one hypothesis. ``sound`` (today's sound rows) is needed for 'none of these' only."""
        parts = {key: self.group_log(key, hypothesis, quantiles, predicted, sound) for key in self.group_keys()}
        return Rows(hypothesis, deviates, quantiles, log_base, predicted, parts)

    def group_log(
        self,
        key: GroupKey,
        hypothesis: int,
        quantiles: Floats,
        predicted: Predicted,
        sound: Predicted | None = None,
        leave_out: int | None = None,
    ) -> Floats:
        """Log likelihood of one group, shape (rows,), optionally without one of its items."""
        subject = self.hypotheses[hypothesis]
        kind, number = key
        if kind in ("gauge", "lamp"):
            return np.asarray(self.shown_logs(key, hypothesis, predicted, sound, (leave_out,))[0])
        if kind == "remarks":
            return self.remarks.log(number, hypothesis, subject, quantiles, predicted, leave_out)
        if leave_out is not None:
            return np.zeros(len(quantiles))
        return check_log(self.prepared.checks[number], subject, quantiles, predicted, sound or predicted)

    def shown_logs(
        self,
        key: GroupKey,
        hypothesis: int,
        predicted: Predicted,
        sound: Predicted | None,
        left_out: Sequence[int | None],
    ) -> Floats:
        """:meth:`group_log` of a gauge or the lamp without each of some items in turn, (left out, rows)."""
        subject = self.hypotheses[hypothesis]
        if key[0] == "gauge":
            manners = manners_of(subject)
            source = (sound or predicted) if subject.kind == "none" else predicted
            usual = self.eras(key[1], subject, source) if self._by_eras(key[1], subject) else ()
            read = partial(self._gauge, key[1], subject, source, left_out, usual)
            return either(manners, [read(manner) for manner in manners])
        courses = courses_of(subject)
        lit = partial(self._lamp, subject, predicted, sound or predicted)
        return np.stack([either(courses, [lit(place, course) for course in courses]) for place in left_out])

    def gauge_kind(self, hypothesis: int) -> GaugeKind:
        """What of a hypothesis, besides its predictions, decides how gauges and lamp are scored."""
        subject = self.hypotheses[hypothesis]
        wrong = subject.has("gauge_in_error") + subject.set_by_wrong_gauge
        return subject.kind == "none", wrong, subject.has("lamp_false"), wander_of(subject), subject.goes

    # ---- gauges and lamp ----------------------------------------------------------------------------------------

    def gauge_terms(self, number: int, subject: Hypothesis, predicted: Predicted, manner: Manner = STANDS) -> Terms:
        """Predicted (rows, n), observed (n,) and variance (rows, n) of one gauge's readings.

        ``manner`` is how the effect of the fault stood while they were read.
        """
        group = self.prepared.gauges[number]
        value = self._value(number, predicted, manner)
        observed = np.array([item.value for item in group.items])
        read = np.array([item.read_sd for item in group.items])
        uneven: Floats | float = 0.0
        if manner.gone_at is not None and predicted.without is not None:
            uneven = UNEVEN * (predicted.gauges[number] - predicted.without.gauges[number])
        elif manner.moves:
            uneven = wander_of(subject) * self._apart(group) * (self.reference.gauges[number] - value)
        variance = read**2 + predicted.gauge_variance[number] + (likelihood.MODEL_SD * value) ** 2 + uneven**2
        return value, observed, variance

    def _value(self, number: int, predicted: Predicted, manner: Manner) -> Floats:
        """Predicted readings of one gauge (rows, n), with what is left of an effect that goes."""
        value = predicted.gauges[number]
        if manner.gone_at is None or predicted.without is None:
            return value
        sound = predicted.without.gauges[number]
        late = np.array([item.late for item in self.prepared.gauges[number].items])
        return np.asarray(sound + manner.left(late) * (value - sound))

    def likely_manner(self, number: int, subject: Hypothesis, predicted: Predicted) -> Manner:
        """How an effect stood, for telling what is far off: one that can move as if it had, one that can go as is
        likeliest for all the rows together."""
        manners = manners_of(subject)
        if not subject.goes:
            return manners[-1]
        eras = [(some, kinds) for some, kinds in self.eras(number, subject, predicted) if some.any()]

        def told(manner: Manner) -> float:
            terms = self.gauge_terms(number, subject, predicted, manner)
            logs = [likelihood.gauge_logs(*_of(terms, some), kinds, deep=True) for some, kinds in eras]
            # A row without a proven solution says nothing.
            whole = [np.logaddexp.reduce(np.nan_to_num(own, nan=-np.inf), axis=None) for own in logs]
            return math.log(manner.chance) + float(sum(whole))

        return max(manners, key=told)

    def likely_terms(self, number: int, subject: Hypothesis, predicted: Predicted) -> Terms:
        """:meth:`gauge_terms` in the :meth:`likely_manner`."""
        return self.gauge_terms(number, subject, predicted, self.likely_manner(number, subject, predicted))

    def errors(self, number: int, predicted: Predicted, tied: bool = True) -> Errors:
        """What one instrument may be off by in each row: per kind of gauge the log chance, (rows,) or (1,), and errors.

        ``tied`` for the gauge that the regulator was set by.
        """
        group = self.prepared.gauges[number]
        if group.instrument != PANEL:
            return ((np.zeros(1), SharedError(group.bias_sd, group.scale_sd)),)
        return self.panel_errors(predicted, tied)

    def eras(self, number: int, subject: Hypothesis, predicted: Predicted) -> tuple[Era, ...]:
        """Which readings of one instrument share what it is off by, and its :meth:`errors` then; today's come last.

        One era where it is off by the same at the baseline and today. A regulator set by a gauge that is wrong ties the
        two together again today.
        """
        group = self.prepared.gauges[number]
        before = np.array([item.point.before for item in group.items], dtype=bool)
        if not (subject.has("gauge_in_error") and group.instrument == PANEL):
            if group.shared_with_baseline:
                return ((np.ones_like(before), self.errors(number, predicted)),)
            today = self.errors(number, predicted, False)
        elif subject.set_by_wrong_gauge:
            today = self.errors(number, predicted.set_again())
        else:
            today = ((np.zeros(1), wide_error()),)
        return ((before, self.errors(number, predicted)), (~before, today))

    def panel_errors(self, predicted: Predicted, tied: bool = True) -> Errors:
        """:meth:`errors` of the panel gauge, read or not."""
        if tied and self.tie is not None:
            known = None if self.tied_in_bank is None else self.tied_in_bank.known(predicted.set_off)
            return self.tie.errors(predicted.set_off) if known is None else known
        return tuple(
            (np.array([math.log(kind.share)]), SharedError(kind.bias_sd, kind.scale_sd))
            for kind in gauge_kinds(self.description)
        )

    def kinds(self, number: int, subject: Hypothesis, predicted: Predicted) -> Errors:
        """Today's :meth:`errors` after the readings: the probability of each kind of gauge in each row, (rows,), and
        errors."""
        some, found = self.eras(number, subject, predicted)[-1]
        if len(found) == 1:
            return ((np.ones(len(predicted.set_off)), found[0][1]),)
        manners = manners_of(subject)
        terms = [_of(self.gauge_terms(number, subject, predicted, manner), some) for manner in manners]
        logs = either(manners, [likelihood.gauge_logs(*own, found, deep=True) for own in terms])
        shares = np.exp(logs - np.logaddexp.reduce(logs, axis=0))
        return tuple((share, error) for share, (_, error) in zip(shares, found, strict=True))

    def likeliest(
        self, number: int, subject: Hypothesis, predicted: Predicted, at: int
    ) -> tuple[Terms, list[tuple[Bools, SharedError]]]:
        """:meth:`gauge_terms`, predicted for all rows and the variance at row ``at``, and of each of the :meth:`eras`
        the errors of one kind of gauge: as is likeliest at that row, a fault that can wander having stood still or
        not."""
        eras = [(some, kinds) for some, kinds in self.eras(number, subject, predicted) if some.any()]
        here = picked(predicted, slice(at, at + 1))

        def logs(terms: Terms) -> list[Floats]:
            return [_logs_at(_of(terms, some), kinds, at) for some, kinds in eras]

        ways = [(manner, self.gauge_terms(number, subject, here, manner)) for manner in manners_of(subject)]
        found = [(manner, terms, logs(terms)) for manner, terms in ways]
        manner, (_, observed, variance), best = max(found, key=lambda way: _whole(way[2]))
        errors = [kinds[int(np.argmax(own))][1] for own, (_, kinds) in zip(best, eras, strict=True)]
        told = [(some, error) for (some, _), error in zip(eras, errors, strict=True)]
        return (self._value(number, predicted, manner), observed, variance[0]), told

    def _apart(self, group: GaugeGroup) -> Floats:
        """How much of a wandering effect may differ at each reading: all of it on another occasion than the main one,
        a third within the main one, nothing at the baseline."""
        count: dict[str, int] = {}
        for item in group.items:
            if not item.point.before:
                count[item.occasion] = count.get(item.occasion, 0) + 1
        main = min(count, key=lambda name: (-count[name], name)) if count else ""
        return np.array(
            [0.0 if item.point.before else _WITHIN if item.occasion == main else 1.0 for item in group.items]
        )

    def _by_eras(self, number: int, subject: Hypothesis) -> bool:
        """Whether readings of a gauge are scored by its :meth:`eras`: not another aircraft's, nor those that a wrong
        gauge or none of these explains whatever they are."""
        group = self.prepared.gauges[number]
        wrong = subject.has("gauge_in_error") and group.instrument == PANEL and not subject.set_by_wrong_gauge
        return not (group.sister or subject.kind == "none" or wrong)

    def _gauge(
        self,
        number: int,
        subject: Hypothesis,
        source: Predicted,
        left_out: Sequence[int | None],
        usual: Sequence[Era],
        manner: Manner,
    ) -> Floats:
        """Readings of one gauge without each of some in turn, (left out, rows); ``usual`` are its :meth:`eras` where
        it is scored by them."""
        group = self.prepared.gauges[number]
        terms = self.gauge_terms(number, subject, source, manner)
        places = np.arange(len(group.items))
        kept = [np.asarray(places != place, dtype=bool) for place in left_out]
        if group.sister:
            return np.stack([self._sister(number, terms, some) for some in kept])
        if not usual:
            return np.stack([self._any_reading(number, subject, source, terms, some) for some in kept])
        eras = [self._usual(number, terms, [era & some for some in kept], kinds) for era, kinds in usual]
        return np.asarray(sum(eras[1:], eras[0]))

    def _usual(self, number: int, terms: Terms, some: Sequence[Bools], kinds: Errors) -> Floats:
        """A gauge that is as good as such gauges are, or one in some that is far off and nobody knows: for each of some
        choices of its readings, (choices, rows)."""
        logs = likelihood.gauge_logs_of(*terms, kinds, some, deep=number in self.deep)
        return np.asarray(logs[:, 0]) if len(kinds) == 1 else likelihood.log_added(logs.swapaxes(0, 1))

    def _sister(self, number: int, terms: Terms, some: Bools) -> Floats:
        """Readings of another aircraft's gauge."""
        group, kin = self.prepared.gauges[number], self.kin[number]
        value, observed, _ = _of(terms, some)
        read = np.array([item.read_sd for item in group.items])[some]
        own = Kin(kin.mean[some], kin.covariance[np.ix_(some, some)])
        return sister_log(value, observed, read, SharedError(group.bias_sd, group.scale_sd), own)

    def _any_reading(self, number: int, subject: Hypothesis, source: Predicted, terms: Terms, some: Bools) -> Floats:
        """Readings of today that a wrong gauge, or none of these, explains whatever they are; earlier ones as usual."""
        items = self.prepared.gauges[number].items
        before = np.array([item.point.before for item in items], dtype=bool)
        total = self._usual(number, terms, [before & some], self.errors(number, source))[0]
        now = ~before & some
        value, observed, variance = _of(terms, now)
        if subject.kind == "none":
            return np.asarray(total + likelihood.none_gauge_log(value, observed))
        deep = number in self.deep
        moving = likelihood.shared_gauge_log(value, observed, variance, wide_error(), deep=deep)
        read = np.array([item.read_sd for item in items])[now]
        still = likelihood.stuck_gauge_log(observed, read) + math.log(likelihood.GAUGE_STUCK)
        return np.asarray(total + np.logaddexp(moving + math.log1p(-likelihood.GAUGE_STUCK), still))

    def _lamp(
        self, subject: Hypothesis, predicted: Predicted, sound: Predicted, leave_out: int | None, course: Manner
    ) -> Floats:
        """Where the lamp changed, (rows,)."""
        items = self.prepared.lamps
        lamp = self.description.lamp
        if lamp is None:
            return np.zeros(predicted.lamp.shape[0])
        source = sound if subject.kind == "none" else _lamp_left(predicted, float(course.left(LAMP_LATE)))
        kept = np.array([place != leave_out for place in range(len(items))], dtype=bool)
        before = np.array([item.point.before for item in items], dtype=bool)
        slope = usable_slope(source.lamp_slope)
        sd_rpm = np.array([item.sd_rpm for item in items])
        variance = (slope * sd_rpm) ** 2 + (likelihood.MODEL_SD * source.lamp) ** 2 + 0.02**2
        terms = source.lamp, np.full(len(items), lamp.trip.number / PA_PER_INHG), variance
        jacobian = np.log(slope if kept.all() else slope[:, kept]).sum(axis=1)
        right = SharedError(likelihood.LAMP_TRIP_SD_INHG, 0.0)
        if subject.kind != "none" and not subject.has("lamp_false"):
            return np.asarray(likelihood.shared_gauge_log(*_of(terms, kept), right, deep=False) + jacobian)
        total = likelihood.shared_gauge_log(*_of(terms, before & kept), right, deep=False)
        now = _of(terms, ~before & kept)
        if subject.kind == "none":
            total = total + likelihood.none_gauge_log(*now[:2])
        else:
            wide = SharedError(likelihood.LAMP_WRONG_SD_INHG, 0.0)
            total = total + likelihood.shared_gauge_log(*now, wide, deep=False)
        return np.asarray(total + jacobian)


def _lamp_left(predicted: Predicted, left: float) -> Predicted:
    """What the lamp sees today with a share ``left`` of the fault's effect."""
    sound = predicted.without
    if left == 1.0 or sound is None:
        return predicted
    # A lamp reading of the time of the baseline is the same with the fault and without.
    return replace(
        predicted,
        lamp=sound.lamp + left * (predicted.lamp - sound.lamp),
        lamp_slope=sound.lamp_slope + left * (predicted.lamp_slope - sound.lamp_slope),
    )


def _of(terms: Terms, some: Bools) -> Terms:
    """The terms of some of the readings, one reading after the other in memory as they are scored."""
    value, observed, variance = terms
    return terms if some.all() else (value.T[some].T, observed[some], variance.T[some].T)


def _whole(logs: Sequence[Floats]) -> float:
    """Log density of all eras, of each the kinds of gauge together."""
    return float(sum(np.logaddexp.reduce(own) for own in logs))


def _logs_at(terms: Terms, kinds: Sequence[tuple[Floats, SharedError]], at: int) -> Floats:
    """Log density of one gauge's readings at row ``at`` for each kind of gauge; ``terms`` are of that row alone."""
    here = slice(at, at + 1)
    near = [
        (chance if len(chance) == 1 else chance[here], replace(e, mean=None if e.mean is None else e.mean[here]))
        for chance, e in kinds
    ]
    return likelihood.gauge_logs(*terms, near, deep=True)[:, 0]


def usable_slope(slope: Floats) -> Floats:
    """Size of inHg per rpm where a lamp changed, above nothing."""
    return np.asarray(np.maximum(np.abs(slope), _LEAST_SLOPE))


def lamp_jacobian(slope: Floats) -> Floats:
    """Logarithm of inHg per rpm where a lamp changed: its density in pressure to its density in engine speed."""
    return np.asarray(np.log(usable_slope(slope)))


def wide_error() -> SharedError:
    return SharedError(likelihood.GAUGE_WRONG_BIAS_SD_INHG, likelihood.GAUGE_WRONG_SCALE_SD)
