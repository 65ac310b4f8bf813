"""What each leading cause says the panel gauge would have read where it was read: predicted beside measured."""

from __future__ import annotations

from typing import Final

import msgspec
import numpy as np

from vanewise.diagnosis.evidence import PANEL
from vanewise.diagnosis.modes import NONE_OF_THESE
from vanewise.diagnosis.state import State
from vanewise.diagnosis.types import Cause, WouldRead
from vanewise.network.types import Floats

_SPAN: Final = (0.1, 0.5, 0.9)
_LEADING: Final = 4
_WORTH_SHOWING: Final = 0.05


def beside_readings(state: State, found: tuple[Cause, ...]) -> tuple[Cause, ...]:
    """The causes, the leading ones with what they say the gauge would have read, by their likeliest hypothesis."""
    numbers = {hypothesis.id: number for number, hypothesis in enumerate(state.posterior.hypotheses)}
    return tuple(
        msgspec.structs.replace(cause, would_read=would_read(state, numbers[cause.hypotheses[0].id]))
        if place < _LEADING and cause.probability >= _WORTH_SHOWING and cause.id != NONE_OF_THESE.id
        else cause
        for place, cause in enumerate(found)
    )


def would_read(state: State, hypothesis: int) -> tuple[WouldRead, ...]:
    """Today's readings of the panel gauge in running order, each with the span that 8 in 10 of its states read there.

    The spans are of what a right gauge would show: what the gauge itself adds shows as a shift that all share.
    """
    own = state.posterior.rows[hypothesis]
    log = own.log_weights()
    finite = np.isfinite(log)
    if not finite.any():
        return ()
    weight = np.where(finite, np.exp(log - log[finite].max()), 0.0)
    found: list[WouldRead] = []
    for number, group in enumerate(state.prepared.gauges):
        if group.instrument != PANEL:
            continue
        for place, item in enumerate(group.items):
            if item.point.before or item.point.under or item.high is not None:
                continue
            low, middle, high = _quantiles(own.predicted.gauges[number][:, place], weight)
            found.append(
                WouldRead(
                    id=item.id,
                    engine_rpm=item.point.rpm,
                    density_kg_m3=item.point.density,
                    read_inhg=item.value,
                    low_inhg=low,
                    middle_inhg=middle,
                    high_inhg=high,
                )
            )
    return tuple(sorted(found, key=lambda entry: (entry.engine_rpm, entry.id)))


def _quantiles(values: Floats, weight: Floats) -> tuple[float, float, float]:
    order = np.argsort(values, kind="stable")
    share = np.cumsum(weight[order])
    places = np.searchsorted(share, np.array(_SPAN) * share[-1])
    low, middle, high = values[order][np.minimum(places, len(values) - 1)].tolist()
    return low, middle, high
