"""The regulator was set by the panel gauge: what that gauge is off by, the true setting is off by the other way.

A mechanic turns the screw until the gauge reads the setting. So of a gauge half an inch high the plateau reads right
and is half an inch low. Taken as independent, setting and gauge error would make that plateau proof of a true one, and
the half inch that is missing everywhere else a fault. Here each row draws its true setting with the gauge's error in
it, and what the gauge is off by is then known for that row but for the error of the setting itself.

Errors are in inHg and as a share of the reading. Everything is normal given which kind of gauge it is: as good as such
gauges are, or far off.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from functools import lru_cache
from typing import Final

import numpy as np
from scipy.special import ndtr, ndtri

from vanewise.aircraft.description import AircraftDescription
from vanewise.diagnosis.likelihood import SharedError, log_added
from vanewise.network.types import Floats
from vanewise.quantities import PA_PER_INHG
from vanewise.values import judgement

SET_WITHIN_INHG: Final = 0.1
"""How near to its setting a regulator is set, as the gauge reads: 'plus or minus a tenth' (an owner's handbook, from
the trade notes)."""
_FARTHEST: Final = 6.0
_STEPS: Final = 4001


Errors = tuple[tuple[Floats, SharedError], ...]
"""Per kind of gauge the log chance, (rows,) or (1,), and what such a gauge may be off by."""


@dataclass(frozen=True, slots=True)
class GaugeKind:
    """One kind of gauge: the chance that this one is of it, and the standard deviations of its errors."""

    share: float
    bias_sd: float
    scale_sd: float


@dataclass(frozen=True, slots=True)
class SetByGauge:
    """A setting [inHg], how near to it the gauge read when it was set, and the kinds of gauge it may have been."""

    setting: float
    sd: float
    kinds: tuple[GaugeKind, ...]

    def spread(self, kind: GaugeKind) -> float:
        """Standard deviation [inHg] of the true setting about the one that was meant, for one kind of gauge."""
        return math.sqrt(self.sd**2 + kind.bias_sd**2 + (self.setting * kind.scale_sd) ** 2)

    def offsets(self, deviate: Floats) -> Floats:
        """True setting less the one that was meant [inHg] of standard normal deviates, any shape."""
        at, value = _quantiles(self)
        return np.asarray(np.interp(deviate, at, value))

    def errors(self, offset: Floats) -> Errors:
        """The gauge's error given each row's offset (rows,): per kind the log chance (rows,) and the error."""
        logs = [math.log(kind.share) + _log_normal(offset, self.spread(kind)) for kind in self.kinds]
        whole = log_added(logs)
        return tuple((own - whole, self._error(kind, offset)) for own, kind in zip(logs, self.kinds, strict=True))

    def _error(self, kind: GaugeKind, offset: Floats) -> SharedError:
        per_offset, (bias_sd, scale_sd, tilt) = _conditioned(self, kind)
        return SharedError(bias_sd, scale_sd, tilt, per_offset * offset[:, None])


@dataclass(frozen=True, slots=True, eq=False)
class TiedInBank:
    """The offsets of a bank's own rows and what they say of the gauge's error, worked out once for all its blocks."""

    offsets: Floats
    errors: Errors
    _repeated: dict[int, tuple[Floats, Errors]] = field(default_factory=dict)

    def repeated(self, times: int) -> Floats:
        """The offsets of so many blocks one after the other: the same array whenever it is asked for."""
        if times not in self._repeated:
            errors = tuple(
                (np.tile(chance, times), replace(own, mean=None if own.mean is None else np.tile(own.mean, (times, 1))))
                for chance, own in self.errors
            )
            self._repeated.setdefault(times, (np.tile(self.offsets, times), errors))  # the first of two threads' stays
        return self._repeated[times][0]

    def known(self, offsets: Floats) -> Errors | None:
        """The errors where these are :attr:`offsets` or :meth:`repeated` ones, else None."""
        if offsets is self.offsets:
            return self.errors
        times, rest = divmod(len(offsets), len(self.offsets))
        own = self._repeated.get(times)
        return own[1] if not rest and own is not None and own[0] is offsets else None


@lru_cache(maxsize=16)
def _conditioned(tie: SetByGauge, kind: GaugeKind) -> tuple[Floats, tuple[float, float, float]]:
    """Offset and scale error expected per inch of the setting's offset, (2,), and the factor of what is left of them.

    Offset = error of setting it - bias - setting * scale, all normal: conditioned on the offset.
    """
    along = np.array([kind.bias_sd**2, tie.setting * kind.scale_sd**2])
    variance = tie.spread(kind) ** 2
    left = np.diag([kind.bias_sd**2, kind.scale_sd**2]) - np.outer(along, along) / variance
    factor = np.linalg.cholesky(left + 1e-12 * np.eye(2))
    return -(along / variance), (float(factor[0, 0]), float(factor[1, 1]), float(factor[1, 0]))


def _log_normal(x: Floats, sd: float) -> Floats:
    return np.asarray(-0.5 * (x / sd) ** 2 - math.log(sd))


@lru_cache(maxsize=16)
def _quantiles(tie: SetByGauge) -> tuple[Floats, Floats]:
    """Standard normal deviates and the offsets at the same quantiles of the mixture, both rising."""
    widest = _FARTHEST * max(tie.spread(kind) for kind in tie.kinds)
    value = np.linspace(0.0, widest, _STEPS)
    beyond = np.zeros(len(value))
    for kind in tie.kinds:
        beyond += kind.share * ndtr(-value / tie.spread(kind))
    at = -ndtri(beyond)
    at[0] = 0.0
    return np.concatenate([-at[:0:-1], at]), np.concatenate([-value[:0:-1], value])


def gauge_kinds(description: AircraftDescription) -> tuple[GaugeKind, ...]:
    """What the panel gauge may be: one that nobody has compared is now and then far off."""
    gauge = description.gauge
    bias = (gauge.bias_sd or judgement.GAUGE_BIAS_SD).number / PA_PER_INHG
    scale = (gauge.scale_sd or judgement.GAUGE_SCALE_SD).number
    if gauge.bias_sd is not None and not gauge.bias_sd.is_assumed:
        return (GaugeKind(1.0, bias, scale),)
    far = judgement.GAUGE_FAR_OFF_SHARE.number
    off = max(judgement.GAUGE_FAR_OFF_SD.number / PA_PER_INHG, bias)
    return GaugeKind(1.0 - far, bias, scale), GaugeKind(far, off, scale)


def tie_of(description: AircraftDescription) -> SetByGauge | None:
    """How the setting and the gauge's error hang together; None without a regulator. Of several the lowest setting."""
    settings = [part.values["setting"] for part in description.parts_of("regulator")]
    if not settings:
        return None
    lowest = min(settings, key=lambda value: value.number)
    own = lowest.spread if lowest.spread_kind == "absolute" else abs(lowest.number) * lowest.spread
    return SetByGauge(
        lowest.number / PA_PER_INHG, math.hypot(own / PA_PER_INHG, SET_WITHIN_INHG), gauge_kinds(description)
    )
