"""What is fitted, in which duty, and how it is plumbed: the value every later stage starts from."""

from __future__ import annotations

import datetime
import hashlib
from collections.abc import Iterator, Mapping
from typing import Literal

import msgspec

from vanewise.aircraft.kinds import Surroundings
from vanewise.errors import wrong
from vanewise.provenance import Value

Duty = Literal["suction", "pressure"]
Material = Literal["hose", "tube"]
Condition = Literal["new", "overhauled", "exchange", "used", "unknown"]
Autopilot = Literal["yes", "no", "unknown", "no autopilot"]
AlsoFitted = Literal["standby source", "de-ice boots", "door seal"]
TurnInstrument = Literal["electric", "air", "none"]


class Fitted(msgspec.Struct, frozen=True, kw_only=True):
    """When a part went on: by the calendar and by the aircraft's own meters, in hundredths of an hour."""

    date: datetime.date | None = None
    tach_centihours: int | None = None
    hour_meter_centihours: int | None = None
    serial: str = ""
    condition: Condition = "unknown"


class Part(msgspec.Struct, frozen=True, kw_only=True):
    """A part with ports. ``values`` holds its numbers as built (SI, each with its source)."""

    id: str
    kind: str
    name: str = ""
    open: Mapping[str, Surroundings] = {}
    """Ports that breathe their surroundings, and which."""
    capped: tuple[str, ...] = ()
    extra_ports: tuple[str, ...] = ()
    senses: str = ""
    """A regulator only: the ``part.port`` whose pressure it holds; empty for its own port."""
    values: Mapping[str, Value] = {}
    fitted: Fitted = Fitted()

    @property
    def label(self) -> str:
        return self.name or self.id.replace("_", " ")


class Line(msgspec.Struct, frozen=True, kw_only=True):
    """A hose or tube between two ports, each written ``part.port``. Lengths in m; ``elbows`` counts 90 degree ones.

    ``end`` (or ``start``) may also be a surroundings: an outlet pipe ends in the ``engine bay``. ``runs_in`` is where a
    hole in it would let air in or out.
    ``values`` holds ``length``, ``bore``, ``elbows`` (ratio) and ``roughness`` with their sources.
    """

    id: str
    start: str
    end: str
    material: Material = "hose"
    runs_in: Surroundings = "cabin"
    values: Mapping[str, Value] = {}
    fitted: Fitted = Fitted()
    cured: datetime.date | None = None
    name: str = ""

    @property
    def label(self) -> str:
        return self.name or self.id.replace("_", " ")


class Gauge(msgspec.Struct, frozen=True, kw_only=True):
    """The panel gauge: the two points it is connected across decide what it can see.

    Each is a ``part.port``, ``"cabin"``, or ``"unknown"`` (then both usual connections are drawn).
    """

    high: str
    low: str
    band_low: Value | None = None
    band_high: Value | None = None
    bias_sd: Value | None = None
    scale_sd: Value | None = None
    read_sd: Value | None = None


class Lamp(msgspec.Struct, frozen=True, kw_only=True):
    """The low-suction (low-pressure) annunciator."""

    high: str
    low: str
    trip: Value


class Engine(msgspec.Struct, frozen=True, kw_only=True):
    """Engine speeds people use, in rpm."""

    idle_rpm: Value
    run_up_rpm: Value
    cruise_rpm: Value
    max_rpm: Value


class Field(msgspec.Struct, frozen=True, kw_only=True):
    """The home field: elevation [m] and latitude [deg, north positive]."""

    elevation: Value
    latitude: Value | None = None


class Meters(msgspec.Struct, frozen=True, kw_only=True):
    """The aircraft's two kinds of meter as last read, in hundredths of an hour."""

    tach_centihours: int | None = None
    hour_meter_centihours: int | None = None
    read_on: datetime.date | None = None


class AircraftDescription(msgspec.Struct, frozen=True, kw_only=True):
    """The whole air system of one aircraft as it stood from ``valid_from``."""

    name: str
    duty: Duty
    duty_confirmed: bool
    engine: Engine
    field: Field
    parts: tuple[Part, ...]
    lines: tuple[Line, ...]
    gauge: Gauge
    lamp: Lamp | None = None
    meters: Meters = Meters()
    autopilot_takes_attitude: Autopilot = "unknown"
    turn_instrument: TurnInstrument = "electric"
    also_fitted: tuple[AlsoFitted, ...] = ()
    """On the same air but not computed. Whoever computes or draws up a scope says so (:func:`.remarks.remarks`)."""
    layout: str = ""
    valid_from: datetime.date | None = None
    invented: bool = False

    def part(self, part_id: str) -> Part:
        """The part of that id. Raises KeyError when there is none."""
        for part in self.parts:
            if part.id == part_id:
                return part
        raise KeyError(part_id)

    def parts_of(self, kind: str) -> tuple[Part, ...]:
        return tuple(part for part in self.parts if part.kind == kind)

    def labels(self) -> dict[str, str]:
        """What every part and line is called, by its id."""
        owners: tuple[Part | Line, ...] = (*self.parts, *self.lines)
        return {owner.id: owner.label for owner in owners}

    def values(self) -> Iterator[tuple[str, Value]]:
        """Every number of a part or line with its path, such as ``pump.displacement``: what a batch may override."""
        owners: tuple[Part | Line, ...] = (*self.parts, *self.lines)
        for owner in owners:
            for field, value in owner.values.items():
                yield f"{owner.id}.{field}", value

    def all_values(self) -> Iterator[tuple[str, Value]]:
        """Every number there is, those of engine, home field, gauge and lamp included (``gauge.band_low``)."""
        yield from self.values()
        for section in ("engine", "field", "gauge", "lamp"):
            struct = getattr(self, section)
            for field in () if struct is None else struct.__struct_fields__:
                value = getattr(struct, field)
                if isinstance(value, Value):
                    yield f"{section}.{field}", value

    def assumed(self) -> tuple[tuple[str, Value], ...]:
        """The numbers nobody of this aircraft gave or measured, with their paths."""
        return tuple((path, value) for path, value in self.all_values() if value.is_assumed)


def canonical_json(description: AircraftDescription) -> str:
    """The description as one line of JSON with sorted keys: the same text for equal descriptions, always."""
    # Decoding once makes every number the type it is declared as, so that 5 and 5.0 give the same text.
    declared = msgspec.json.decode(msgspec.json.encode(description), type=AircraftDescription)
    return msgspec.json.encode(declared, order="sorted").decode()


def from_json(text: str | bytes) -> AircraftDescription:
    """The description of a canonical text. Raises :class:`InputError` when it is not one."""
    try:
        return msgspec.json.decode(text, type=AircraftDescription)
    except (msgspec.DecodeError, UnicodeDecodeError) as error:
        raise wrong("description", "a stored description", str(error), "look whether the text is whole") from None


def digest(description: AircraftDescription) -> str:
    """SHA-256 of the canonical text, in hexadecimal: what a stored result names as the description it came from."""
    return hashlib.sha256(canonical_json(description).encode()).hexdigest()
