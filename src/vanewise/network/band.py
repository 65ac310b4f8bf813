"""A sweep as a band: what the gauge would read as well as the aircraft is known, and which number to find out first.

Every number of the description varies by its own spread. In every row the regulator is set anew, as somebody turned
its screw on *that* aircraft until *its* gauge read the setting; so the band is narrow where it was set, and wide where
pump and hoses decide. First output for a person who knows little: a band, not a line.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

import msgspec
import numpy as np

from vanewise.aircraft.description import AircraftDescription
from vanewise.aircraft.kinds import field_of
from vanewise.aircraft.versions import kind_at
from vanewise.errors import NoAnswer, Problem
from vanewise.network import atmosphere
from vanewise.network.calibrate import calibrate_preload, regulators
from vanewise.network.observe import UNKNOWN, gauge_ports, gauge_reading, line_against_cabin
from vanewise.network.pack import pack
from vanewise.network.packed import PackedNetwork
from vanewise.network.solve import best_engine, solve_batch
from vanewise.network.sweep import STANDARD_RPMS
from vanewise.network.types import BatchCases, Engine, Floats
from vanewise.provenance import Value

ROWS: Final[Mapping[Engine, int]] = MappingProxyType({"kernel": 512, "numpy": 192})
"""Rows drawn when nothing else is asked for: fewer where each takes longer."""
QUANTILES: Final = (0.10, 0.50, 0.90)
NAMED: Final = 3
"""How many of the numbers that widen the band are named."""
LEAST_SOLVED: Final = 0.9
OFFER: Final = (
    "Take a baseline sweep while all is well: it ties these numbers down better than any data sheet, and every later "
    "reading is then compared with this aircraft and not with an example."
)

GAUGE_OFFSET, GAUGE_SCALE = "gauge.bias_sd", "gauge.scale_sd"

#: How a number is best found out, by field.
_FIND_OUT: Final[Mapping[str, str]] = MappingProxyType(
    {
        "displacement": "the pump's data sheet, or a baseline sweep",
        "volumetric_efficiency": "a baseline sweep",
        "slip_area": "a baseline sweep",
        "drive_ratio": "the engine's data sheet",
        "reference_flow": "the instrument shop's or the maker's figure",
        "reference_drop": "a gauge across it on a ground run",
        "setting": "the aircraft's manual, and a ground run with a compared gauge",
        "set_at_rpm": "the aircraft's manual",
        "droop": "a baseline sweep",
        "flow_area": "a baseline sweep",
        "length": "a tape along the hose",
        "bore": "the marking on the hose",
        "elbows": "a look along the line",
        "roughness": "a baseline sweep",
        "bias_sd": "a comparison with a calibrated gauge",
        "scale_sd": "a comparison with a calibrated gauge",
    }
)


class BandPoint(msgspec.Struct, frozen=True, kw_only=True):
    """What the gauge would read at one engine speed [rpm]: 10, 50 and 90 % of the rows lie below [Pa]."""

    engine_rpm: float
    low_pa: float
    middle_pa: float
    high_pa: float


class Widener(msgspec.Struct, frozen=True, kw_only=True):
    """A number that widens the band. ``share`` of the band's variance is explained by it alone, over all speeds."""

    path: str
    words: str
    share: float
    find_out: str
    assumed: bool


class Band(msgspec.Struct, frozen=True, kw_only=True):
    """The band, what widens it most, and the same for the other gauge connection where that is not known."""

    gauge_high: str
    gauge_low: str
    altitude_m: float
    points: tuple[BandPoint, ...]
    wideners: tuple[Widener, ...]
    rows: int
    solved: float
    """Share of the rows that were solved."""
    offer: str = OFFER
    other_connection: Band | None = None


@dataclass(frozen=True, slots=True)
class Input:
    """One uncertain number: its key in the network (or of the gauge), value and bounds."""

    path: str
    value: Value
    low: float
    high: float

    def drawn(self, deviates: Floats) -> Floats:
        """The number in every row, (n,), from standard normal deviates (n,)."""
        if self.value.spread_kind == "relative":
            numbers = self.value.number * np.exp(self.value.spread * deviates)
        else:
            numbers = self.value.number + self.value.spread * deviates
        return np.asarray(np.clip(numbers, self.low, self.high))


def band(
    description: AircraftDescription,
    rpms: Sequence[float] = STANDARD_RPMS,
    altitude_m: float | None = None,
    temperature_k: float | None = None,
    *,
    seed: int,
    rows: int | None = None,
    engine: Engine | None = None,
) -> Band:
    """The band of the gauge reading over engine speed [rpm], at a pressure altitude [m] (None: the home field).

    ``temperature_k`` is outside air, None a standard day. The same seed gives the same band. Raises
    :class:`NoAnswer` when fewer than nine rows in ten can be solved, InputError for a point outside the ranges.
    """
    here = _band(description, rpms, altitude_m, temperature_k, seed, rows, engine)
    if UNKNOWN not in (description.gauge.high, description.gauge.low):
        return here
    high, low = line_against_cabin(description)
    gauge = msgspec.structs.replace(description.gauge, high=high, low=low)
    other = msgspec.structs.replace(description, gauge=gauge)
    return msgspec.structs.replace(
        here, other_connection=_band(other, rpms, altitude_m, temperature_k, seed, rows, engine)
    )


def _band(
    description: AircraftDescription,
    rpms: Sequence[float],
    altitude_m: float | None,
    temperature_k: float | None,
    seed: int,
    rows: int | None,
    engine: Engine | None,
) -> Band:
    engine = engine or best_engine()
    count = rows or ROWS[engine]
    packed = pack(description)
    inputs = tuple(uncertain(packed))
    deviates = latin_normal(count, len(inputs) + 2, seed)
    place = description.field.elevation.number if altitude_m is None else altitude_m
    readings = _readings(packed, inputs, deviates, rpms, place, temperature_k, engine)
    solved = np.isfinite(readings).all(axis=1)
    if solved.mean() < LEAST_SOLVED:
        raise NoAnswer(_too_few(float(solved.mean())))
    quantiles = np.quantile(readings[solved], QUANTILES, axis=0)
    high, low = gauge_ports(description)
    return Band(
        gauge_high=high,
        gauge_low=low,
        altitude_m=place,
        points=tuple(
            BandPoint(engine_rpm=float(rpm), low_pa=float(a), middle_pa=float(b), high_pa=float(c))
            for rpm, (a, b, c) in zip(rpms, quantiles.T, strict=True)
        ),
        wideners=wideners_of(description, inputs, deviates[solved], readings[solved]),
        rows=count,
        solved=float(solved.mean()),
    )


def uncertain(packed: PackedNetwork) -> Iterator[Input]:
    """The numbers of parts and lines that are uncertain and act on the network."""
    known = frozenset(packed.override_keys)
    for path, value in packed.description.values():
        owner, _, field = path.partition(".")
        kind = kind_at(packed.description, owner)
        spec = field_of(kind, field) if kind else None
        if spec is not None and value.spread > 0.0 and path in known:
            yield Input(path, value, spec.low, spec.high)


def latin_normal(count: int, dimensions: int, seed: int) -> Floats:
    """Standard normal deviates (count, dimensions), stratified in each dimension (Latin hypercube), from a seed."""
    from scipy.special import ndtri  # late: only a drawn band needs it

    rng = np.random.default_rng(seed)
    strata = np.stack([rng.permutation(count) for _ in range(dimensions)], axis=1)
    return np.asarray(ndtri((strata + rng.random((count, dimensions))) / count))


def _readings(
    packed: PackedNetwork,
    inputs: tuple[Input, ...],
    deviates: Floats,
    rpms: Sequence[float],
    altitude_m: float,
    temperature_k: float | None,
    engine: Engine,
) -> Floats:
    """What the panel gauge reads [Pa], (rows, rpms), its own errors included. NaN where a row is not solved."""
    columns, offset, scale = drawn_systems(packed, inputs, deviates, engine)
    air = atmosphere.ambient(altitude_m, temperature_k)
    count, speeds = len(deviates), len(rpms)
    every = {path: np.tile(column, speeds) for path, column in columns.items()}
    batch = _batch(every, np.repeat(np.asarray(rpms, float), count), air.pressure_pa, air.temperature_k)
    seen = gauge_reading(packed, solve_batch(packed, batch, engine).pressure_pa).reshape(speeds, count).T
    return np.asarray(seen * scale[:, None] + offset[:, None])


def drawn_systems(
    packed: PackedNetwork, inputs: tuple[Input, ...], deviates: Floats, engine: Engine
) -> tuple[dict[str, Floats], Floats, Floats]:
    """Columns of sound systems, (n,) each, from deviates (n, inputs + 2): numbers drawn, every regulator set by hand.

    Also the gauge's offset [Pa] and scale of each, which belong to the last two deviates. A row of zeros is the system
    as it is described.
    """
    gauge = packed.description.gauge
    offset = (gauge.bias_sd.number if gauge.bias_sd else 0.0) * deviates[:, -2]
    scale = 1.0 + (gauge.scale_sd.number if gauge.scale_sd else 0.0) * deviates[:, -1]
    columns = {entry.path: entry.drawn(deviates[:, i]) for i, entry in enumerate(inputs)}
    columns |= set_regulators(packed, columns, offset, scale, len(deviates), engine)
    return columns, offset, scale


def set_regulators(
    packed: PackedNetwork, columns: Mapping[str, Floats], offset: Floats, scale: Floats, count: int, engine: Engine
) -> dict[str, Floats]:
    """Preload of every regulator in every row: set at the home field until this row's gauge read the setting."""
    names = regulators(packed)
    if not names:
        return {}

    def number(name: str, field: str) -> Floats:
        return columns.get(f"{name}.{field}", np.full(count, packed.neutral(f"{name}.{field}")))

    settings = np.stack([number(name, "setting") for name in names])
    speeds = np.stack([number(name, "set_at_rpm") for name in names]).min(axis=0)
    air = atmosphere.ambient(packed.description.field.elevation.number, None)
    wanted = (settings.min(axis=0) - offset) / scale
    preload = calibrate_preload(
        packed, _batch(columns, speeds, air.pressure_pa, air.temperature_k), wanted, engine=engine
    )
    # Where several regulators share a system, each keeps its distance above the lowest setting as described.
    described = np.array([packed.neutral(f"{name}.setting") for name in names])
    return {f"{name}.preload": preload + above for name, above in zip(names, described - described.min(), strict=True)}


def _batch(columns: Mapping[str, Floats], rpm: Floats, ambient_pa: float, temperature_k: float) -> BatchCases:
    count = len(rpm)
    return BatchCases(
        columns=tuple(columns),
        values=np.stack(list(columns.values()), axis=1) if columns else np.zeros((count, 0)),
        engine_rpm=rpm,
        ambient_pa=np.full(count, ambient_pa),
        temperature_k=np.full(count, temperature_k),
    )


def wideners_of(
    description: AircraftDescription, inputs: tuple[Input, ...], deviates: Floats, readings: Floats
) -> tuple[Widener, ...]:
    """The inputs with the largest share of the variance, largest first; none where nothing varies."""
    shares = explained_shares(deviates, readings)
    named = [(entry.path, entry.value) for entry in inputs]
    gauge = description.gauge
    named += [(path, value) for path, value in ((GAUGE_OFFSET, gauge.bias_sd), (GAUGE_SCALE, gauge.scale_sd)) if value]
    first = [i for i in np.argsort(-shares, kind="stable")[:NAMED] if i < len(named) and shares[i] > 0.0]
    return tuple(
        Widener(
            path=named[i][0],
            words=_words(description, named[i][0]),
            share=float(shares[i]),
            find_out=_FIND_OUT.get(named[i][0].split(".")[1], "the aircraft's manual"),
            assumed=named[i][1].is_assumed,
        )
        for i in first
    )


def explained_shares(deviates: Floats, readings: Floats) -> Floats:
    """Share of the variance of ``readings`` (n, outputs) that each column of ``deviates`` (n, k) explains alone, (k,).

    First-order index of a variance decomposition. All inputs are fitted together by their first Hermite polynomial,
    which takes each other's noise away, then each by its second; the variance that n rows explain by chance is taken
    off. Variances of the outputs are added up.
    """
    n, k = deviates.shape
    centred = readings - readings.mean(axis=0)
    total = float((centred**2).mean())
    if n < k + 10 or total <= 0.0:
        return np.zeros(k)
    linear = deviates - deviates.mean(axis=0)
    slopes = np.linalg.lstsq(linear, centred, rcond=None)[0]
    rest = centred - linear @ slopes
    chance = float((rest**2).sum(axis=0).mean()) / (n - k) / n
    explained = np.maximum((slopes**2).mean(axis=1) * (linear**2).mean(axis=0) - chance, 0.0)
    curved = (deviates**2 - 1.0) / np.sqrt(2.0)
    curved = curved - curved.mean(axis=0)
    norm = np.maximum((curved**2).mean(axis=0), 1e-12)
    bends = curved.T @ rest / n / norm[:, None]
    explained += np.maximum((bends**2).mean(axis=1) * norm - chance, 0.0)
    return np.asarray(explained / total)


def _words(description: AircraftDescription, path: str) -> str:
    owner, _, field = path.partition(".")
    if owner == "gauge":
        return "the panel gauge's own offset" if field == "bias_sd" else "the panel gauge's own scale"
    kind = kind_at(description, owner)
    spec = field_of(kind, field) if kind else None
    return f"{description.labels()[owner]}: {spec.meaning if spec else field}"


def _too_few(share: float) -> Problem:
    return Problem(
        where="band",
        expected="nine rows in ten to have a solution",
        found=f"{share:.0%} of them",
        next_step="look at the numbers with the widest spread; some of them together make no working system",
    )
