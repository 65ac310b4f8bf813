"""The kinds of part an air system is made of: their ports, their numbers, and the states they can be in.

One table, read by the file format, the checks, the packer, the web forms and the reference page. A *field* is a number
that describes the part as built; a *state* is how it is now (worn, loaded, leaking) with a neutral value that
means sound. Both can be a column of a batch. Defaults are examples to be overwritten by the aircraft's own manual.
"""

from __future__ import annotations

from typing import Final, Literal

import msgspec

from vanewise.provenance import Value
from vanewise.quantities import UNITS, to_si
from vanewise.values import ac_43_13_2a, common_practice, faa_handbooks, judgement, memory

Surroundings = Literal["cabin", "engine bay"]


class PortSpec(msgspec.Struct, frozen=True):
    """A port of a kind. ``may_open`` lists the surroundings it may breathe without a line."""

    name: str
    meaning: str
    may_open: tuple[Surroundings, ...] = ()
    may_cap: bool = False


class FieldSpec(msgspec.Struct, frozen=True, kw_only=True):
    """A number of a part as built. ``low`` and ``high`` bound what is believed possible (SI).

    ``unit`` is the one people write it in. ``default`` is None where a number is wanted only if somebody knows it.
    """

    name: str
    dimension: str
    meaning: str
    default: Value | None
    low: float
    high: float
    unit: str = ""


class StateSpec(msgspec.Struct, frozen=True, kw_only=True):
    """A way a part can differ from sound. ``neutral`` means sound; bounds in the unit people read (``unit``)."""

    name: str
    meaning: str
    neutral: float
    low: float
    high: float
    unit: str = ""


class KindSpec(msgspec.Struct, frozen=True, kw_only=True):
    """One kind of part."""

    name: str
    meaning: str
    ports: tuple[PortSpec, ...]
    fields: tuple[FieldSpec, ...] = ()
    states: tuple[StateSpec, ...] = ()
    is_gyro: bool = False
    extra_ports: bool = False
    """True for a manifold, whose ports are named by the description."""


_CABIN: Final[tuple[Surroundings, ...]] = ("cabin",)
_EITHER: Final[tuple[Surroundings, ...]] = ("cabin", "engine bay")
_RPM: Final = "200 rpm to 6000 rpm"


def _field(name: str, meaning: str, default: Value, bounds: str, unit: str = "") -> FieldSpec:
    """A field with an example, and its bounds written as people do: ``"1 mm to 60 mm"``."""
    return _bounded(name, default.dimension, meaning, default, bounds, unit)


def _bounded(name: str, dimension: str, meaning: str, default: Value | None, bounds: str, unit: str = "") -> FieldSpec:
    low, high = (to_si(text, dimension, name) for text in bounds.split(" to "))
    unit = unit or next(iter(UNITS[dimension]))
    return FieldSpec(name=name, dimension=dimension, meaning=meaning, default=default, low=low, high=high, unit=unit)


def _flag(name: str, meaning: str) -> StateSpec:
    return StateSpec(name=name, meaning=meaning, neutral=0.0, low=0.0, high=1.0, unit="0 or 1")


def _times(name: str, meaning: str, low: float, high: float) -> StateSpec:
    return StateSpec(name=name, meaning=meaning, neutral=1.0, low=low, high=high, unit="times")


def _share(name: str, meaning: str, neutral: float) -> StateSpec:
    return StateSpec(name=name, meaning=meaning, neutral=neutral, low=0.0, high=1.0, unit="fraction")


def _leak(name: str, meaning: str, high: float) -> StateSpec:
    return StateSpec(name=name, meaning=meaning, neutral=0.0, low=0.0, high=high, unit="mm2")


def _filter(name: str, meaning: str, ports: tuple[PortSpec, ...], flow: Value, drop: Value) -> KindSpec:
    """A filter of any place: its drop when new at a stated flow, and the three ways it goes wrong."""
    return KindSpec(
        name=name,
        meaning=meaning,
        ports=ports,
        fields=(
            _field("reference_flow", "flow at which the drop is stated", flow, "0.05 cfm to 40 cfm"),
            _field("reference_drop", "drop across a new element at that flow", drop, "0.005 inHg to 5 inHg"),
        ),
        states=(
            _times("loading", "flow resistance against a new element", 0.1, 1e5),
            _flag("missing", "element not fitted or burst"),
            _leak("bypass_mm2", "gap past the element's seal", 500.0),
        ),
    )


def _gyro(name: str, meaning: str, flow: Value, drop: Value) -> KindSpec:
    """An air-driven instrument: one jet whose size follows from a flow at a drop."""
    return KindSpec(
        name=name,
        meaning=meaning,
        ports=(
            PortSpec("inlet", "air into the case or its jets", _CABIN, may_cap=True),
            PortSpec("outlet", "air out of the case", _CABIN, may_cap=True),
        ),
        fields=(
            _field("reference_flow", "air use at the stated drop", flow, "0.05 cfm to 12 cfm"),
            _field("reference_drop", "drop at which the air use is stated", drop, "0.5 inHg to 15 inHg"),
            _bounded("case_volume", "volume", "air inside the case, if known", None, "0.05 L to 10 L", "L"),
        ),
        states=(
            _times("jet_fraction", "jet area against its own when clean", 0.01, 2.0),
            _leak("case_leak", "hole in the case, to the cabin", 100.0),
            _flag("capped", "its line is disconnected and both open ends are capped"),
        ),
        is_gyro=True,
    )


_FILTERS: Final = (
    _filter(
        "intake filter",
        "cleans cabin air for the gyros in suction duty: one for all, or one per instrument",
        (PortSpec("air", "cabin side", _CABIN), PortSpec("clean", "gyro side")),
        judgement.INTAKE_FILTER_FLOW,
        judgement.INTAKE_FILTER_DROP,
    ),
    _filter(
        "inline filter",
        "the wall between pump and gyros in pressure duty",
        (PortSpec("dirty", "pump side"), PortSpec("clean", "gyro side, where the arrow points")),
        judgement.INLINE_FILTER_FLOW,
        judgement.INLINE_FILTER_DROP,
    ),
    _filter(
        "inlet filter",
        "protects the pump in pressure duty",
        (PortSpec("air", "engine bay side", _EITHER), PortSpec("clean", "pump side")),
        judgement.INLET_FILTER_FLOW,
        judgement.INLET_FILTER_DROP,
    ),
)

_GYROS: Final = (
    _gyro(
        "attitude indicator",
        "artificial horizon driven by air",
        ac_43_13_2a.ATTITUDE_FLOW,
        ac_43_13_2a.ATTITUDE_DROP,
    ),
    _gyro(
        "heading indicator",
        "directional gyro driven by air",
        ac_43_13_2a.HEADING_FLOW,
        ac_43_13_2a.HEADING_DROP,
    ),
    _gyro("turn indicator", "turn needle driven by air", ac_43_13_2a.TURN_FLOW, ac_43_13_2a.TURN_DROP),
)

_REGULATOR: Final = KindSpec(
    name="regulator",
    meaning="holds the difference at the gyros: admits air in suction duty, dumps air in pressure duty",
    ports=(
        PortSpec("gyro_side", "towards the gyros"),
        PortSpec("pump_side", "towards the pump"),
        PortSpec("air", "intake (suction) or dump (pressure), behind its own filter", _EITHER),
    ),
    fields=(
        _field(
            "setting", "what the gauge reads when it is set", common_practice.REGULATOR_SETTING, "1 inHg to 15 inHg"
        ),
        _field("set_at_rpm", "engine speed at which it is set", common_practice.REGULATOR_SET_AT_RPM, _RPM),
        _field(
            "droop",
            "change of difference from just open to full lift",
            judgement.REGULATOR_DROOP,
            "0.05 inHg to 10 inHg",
        ),
        _field("flow_area", "passage at full lift", judgement.REGULATOR_FLOW_AREA, "1 mm2 to 1000 mm2"),
    ),
    states=(
        StateSpec(
            name="set_shift_inhg",
            meaning="screw or spring away from its setting",
            neutral=0.0,
            low=-5.0,
            high=5.0,
            unit="inHg",
        ),
        _leak("held_open", "dirt on the seat holds it open by this much", 100.0),
        _times("filter_loading", "flow resistance of its own filter against new", 0.1, 1e5),
        _flag("stuck_open", "does not shut: its whole passage stays open"),
        _flag("stuck_shut", "does not open"),
        _flag("covered", "test state: its air intake covered by hand"),
        _flag("blanked", "test state: taken out and its port blanked"),
    ),
)

_CHECK_VALVE: Final = KindSpec(
    name="check valve",
    meaning="lets air through one way: towards the pump in suction duty, away from it in pressure duty",
    ports=(PortSpec("inlet", "where air enters"), PortSpec("outlet", "where the arrow points")),
    fields=(
        _field("flow_area", "passage when open", judgement.CHECK_VALVE_FLOW_AREA, "1 mm2 to 1000 mm2"),
        _field("opening", "difference that opens it fully", judgement.CHECK_VALVE_OPENING, "0.001 inHg to 2 inHg"),
    ),
    states=(
        _flag("stuck_open", "lets air both ways"),
        _flag("stuck_shut", "lets no air through"),
    ),
)

_PUMP: Final = KindSpec(
    name="pump",
    meaning="engine-driven dry air pump",
    ports=(
        PortSpec("inlet", "air in", ("engine bay",)),
        PortSpec("outlet", "air out", ("engine bay",)),
    ),
    fields=(
        _field(
            "displacement",
            "volume swept in one turn of the pump",
            judgement.PUMP_DISPLACEMENT,
            "0.5 in3 to 30 in3",
        ),
        _field(
            "volumetric_efficiency",
            "share of the swept volume that is filled",
            judgement.PUMP_VOLUMETRIC_EFFICIENCY,
            "0.3 to 1",
        ),
        _field("drive_ratio", "pump turns for one engine turn", memory.PUMP_DRIVE_RATIO, "0.5 to 3"),
        _field(
            "slip_area",
            "internal leakage of the sound pump as one ideal jet",
            judgement.PUMP_SLIP_AREA,
            "0 mm2 to 200 mm2",
        ),
    ),
    states=(
        _times("slip", "internal leakage against the sound pump", 0.1, 100.0),
        _flag("stopped", "does not turn: coupling sheared or rotor broken"),
        _times("displacement_factor", "swept volume against its own", 0.0, 1.5),
        _share("outlet_blocked", "share of the outlet passage that is blocked", 0.0),
    ),
)

_STANDBY: Final = (
    KindSpec(
        name="standby pump",
        meaning="a dry pump on an electric motor, switched on when the engine-driven pump is lost",
        ports=(PortSpec("inlet", "air in"), PortSpec("outlet", "air out", _EITHER)),
        fields=(
            _field("free_flow", "air it takes in at its own inlet", judgement.STANDBY_PUMP_FLOW, "0.5 cfm to 20 cfm"),
            _field(
                "slip_area",
                "internal leakage when sound, as one ideal jet",
                judgement.STANDBY_PUMP_SLIP_AREA,
                "0 mm2 to 50 mm2",
            ),
        ),
        states=(
            _flag("running", "its motor runs"),
            _times("slip", "internal leakage against the sound pump", 0.1, 100.0),
        ),
    ),
    KindSpec(
        name="intake source",
        meaning="standby suction from the engine's intake manifold: gives what ambient is above the intake, no more",
        ports=(PortSpec("inlet", "towards the gyros, behind a check valve"),),
        fields=(
            _field(
                "intake_pressure",
                "absolute pressure in the engine's intake at the power that is set",
                judgement.INTAKE_PRESSURE,
                "3 inHg to 45 inHg",
            ),
            _field("flow_area", "passage of its selector", judgement.INTAKE_SOURCE_AREA, "1 mm2 to 500 mm2"),
        ),
        states=(_flag("selected", "its selector is open"),),
    ),
)

_OTHER_USERS: Final = (
    KindSpec(
        name="de-ice boots",
        meaning="boots that take air from the pump while they fill; at rest they take none",
        ports=(PortSpec("supply", "air from the pump"),),
        fields=(_field("flow_area", "passage while they fill", judgement.BOOTS_FLOW_AREA, "0.1 mm2 to 200 mm2"),),
        states=(
            _flag("inflating", "the cycle is on"),
            _leak("leak", "hole in a boot or its line, or a valve that stays open", 400.0),
        ),
    ),
    KindSpec(
        name="door seal",
        meaning="an inflated door seal: takes next to nothing once it is full",
        ports=(PortSpec("supply", "air from the pump"),),
        fields=(_field("leakage", "what it leaks when sound", judgement.DOOR_SEAL_LEAKAGE, "0 mm2 to 20 mm2"),),
        states=(_leak("leak", "hole in the seal or its line", 400.0),),
    ),
    KindSpec(
        name="boots valve",
        meaning="sends a pump's outlet air overboard while boots rest, and to the boots when it shuts",
        ports=(PortSpec("inlet", "pump side"), PortSpec("outlet", "overboard", ("engine bay",))),
        fields=(_field("flow_area", "passage overboard", judgement.BOOTS_VALVE_AREA, "1 mm2 to 1000 mm2"),),
        states=(_flag("shut", "shut overboard: the boots get the air"),),
    ),
    KindSpec(
        name="relief valve",
        meaning="lets air overboard above its setting, to protect boots and pump",
        ports=(PortSpec("inlet", "pump side"), PortSpec("outlet", "overboard", _EITHER)),
        fields=(
            _field(
                "setting",
                "difference at which it starts to open",
                judgement.BOOTS_RELIEF_SETTING,
                "1 inHg to 100 inHg",
                "psi",
            ),
            _field("band", "from just open to full lift", judgement.BOOTS_RELIEF_BAND, "0.05 inHg to 40 inHg", "psi"),
            _field("flow_area", "passage at full lift", judgement.BOOTS_RELIEF_AREA, "1 mm2 to 1000 mm2"),
        ),
        states=(_flag("stuck_shut", "does not open"), _leak("held_open", "dirt on the seat holds it open", 100.0)),
    ),
)

_LINE: Final = KindSpec(
    name="line",
    meaning="a hose or tube between two ports",
    ports=(PortSpec("start", "one end"), PortSpec("end", "the other end")),
    fields=(
        _field("length", "length of the run", judgement.LINE_LENGTH, "5 mm to 20 m"),
        _field("bore", "inner diameter", judgement.LINE_BORE, "1 mm to 60 mm", "in"),
        _field("elbows", "number of 90 degree bends and elbow fittings", judgement.LINE_ELBOWS, "0 to 20"),
        _field("roughness", "roughness of the wall", judgement.LINE_ROUGHNESS, "0 mm to 1 mm", "mm"),
    ),
    states=(
        _share("open_fraction", "share of the bore area left open", 1.0),
        _leak("leak", "hole to the surroundings it runs in", 400.0),
        _flag("off", "hose off at its pump-side end"),
    ),
)

_KINDS: Final = (
    *_FILTERS,
    *_GYROS,
    _REGULATOR,
    _CHECK_VALVE,
    KindSpec(
        name="manifold",
        meaning="a block or tee that joins lines; its ports are named by the description",
        ports=(),
        states=(_leak("leak", "hole to the cabin", 400.0),),
        extra_ports=True,
    ),
    KindSpec(
        name="restrictor",
        meaning="a fixed or needle-valve restriction, as for a turn indicator",
        ports=(PortSpec("inlet", "where air enters"), PortSpec("outlet", "where air leaves")),
        fields=(_field("area", "effective passage", judgement.RESTRICTOR_AREA, "0.05 mm2 to 200 mm2"),),
    ),
    _PUMP,
    *_STANDBY,
    *_OTHER_USERS,
    KindSpec(
        name="autopilot",
        meaning="takes attitude or heading from an indicator by an electrical pickoff; uses no air here",
        ports=(),
    ),
    _LINE,
)

KINDS: Final[dict[str, KindSpec]] = {kind.name: kind for kind in _KINDS}
"""Every kind of part, and ``line``, by name."""

SECTIONS: Final[dict[str, tuple[FieldSpec, ...]]] = {
    "engine": (
        _field("idle_rpm", "idle speed", judgement.IDLE_RPM, _RPM),
        _field("run_up_rpm", "run-up speed", judgement.RUN_UP_RPM, _RPM),
        _field("cruise_rpm", "cruise speed", judgement.CRUISE_RPM, _RPM),
        _field("max_rpm", "highest speed", judgement.MAX_RPM, _RPM),
    ),
    "field": (
        _field("elevation", "elevation of the home field", judgement.FIELD_ELEVATION, "-1500 ft to 18000 ft"),
        _bounded("latitude", "latitude", "latitude", None, "90 S to 90 N"),
    ),
    "gauge": (
        _field("band_low", "low end of the band on its face", faa_handbooks.GAUGE_BAND_LOW, "0.5 inHg to 15 inHg"),
        _field("band_high", "high end of the band on its face", faa_handbooks.GAUGE_BAND_HIGH, "0.5 inHg to 15 inHg"),
        _field("bias_sd", "offset error, one standard deviation", judgement.GAUGE_BIAS_SD, "0 inHg to 3 inHg"),
        _field("scale_sd", "scale error, one standard deviation", judgement.GAUGE_SCALE_SD, "0 to 0.3"),
        _field("read_sd", "reading error, one standard deviation", judgement.GAUGE_READ_SD, "0 inHg to 2 inHg"),
    ),
    "lamp": (_field("trip", "difference at which it changes", memory.LAMP_TRIP, "0.5 inHg to 10 inHg"),),
}
"""Numbers of a description that belong to no part: engine, home field, gauge and lamp."""


def fields_of(kind: str) -> tuple[FieldSpec, ...]:
    """The fields of a kind of part, of ``line``, or of a section such as ``engine``. Raises KeyError when unknown."""
    return SECTIONS[kind] if kind in SECTIONS else KINDS[kind].fields


def field_of(kind: str, name: str) -> FieldSpec | None:
    """The field of that name, or None when the kind has none."""
    return next((spec for spec in fields_of(kind) if spec.name == name), None)
