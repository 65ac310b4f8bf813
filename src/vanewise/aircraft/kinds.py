"""The kinds of part an air system is made of: their ports, their numbers, and the states they can be in.

One table, read by the file format, the checks, the packer, the web forms and the reference page. A *field* is a number
that describes the part as built; a *state* is how it is now (worn, loaded, leaking) with a neutral value that
means sound. Both can be a column of a batch. Defaults are examples to be overwritten by the aircraft's own manual.
"""

from __future__ import annotations

from typing import Final, Literal

import msgspec

from vanewise.provenance import Value
from vanewise.quantities import M3S_PER_CFM, M_PER_IN, PA_PER_INHG
from vanewise.values import ac_43_13_2a, common_practice, faa_handbooks, judgement, memory

Surroundings = Literal["cabin", "engine bay"]


class PortSpec(msgspec.Struct, frozen=True):
    """A port of a kind. ``may_open`` lists the surroundings it may breathe without a line."""

    name: str
    meaning: str
    may_open: tuple[Surroundings, ...] = ()
    may_cap: bool = False


class FieldSpec(msgspec.Struct, frozen=True, kw_only=True):
    """A number of a part as built. ``low`` and ``high`` bound what is believed possible (SI)."""

    name: str
    dimension: str
    meaning: str
    default: Value | None
    low: float
    high: float


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


_INHG: Final = PA_PER_INHG
_MM2: Final = 1e-6
_CABIN: Final[tuple[Surroundings, ...]] = ("cabin",)
_EITHER: Final[tuple[Surroundings, ...]] = ("cabin", "engine bay")


def _field(name: str, meaning: str, default: Value, low: float, high: float) -> FieldSpec:
    return FieldSpec(name=name, dimension=default.dimension, meaning=meaning, default=default, low=low, high=high)


def _flag(name: str, meaning: str) -> StateSpec:
    return StateSpec(name=name, meaning=meaning, neutral=0.0, low=0.0, high=1.0, unit="0 or 1")


def _times(name: str, meaning: str, low: float, high: float) -> StateSpec:
    return StateSpec(name=name, meaning=meaning, neutral=1.0, low=low, high=high, unit="times")


def _leak(name: str, meaning: str, high: float) -> StateSpec:
    return StateSpec(name=name, meaning=meaning, neutral=0.0, low=0.0, high=high, unit="mm2")


def _filter(name: str, meaning: str, ports: tuple[PortSpec, ...], flow: Value, drop: Value) -> KindSpec:
    """A filter of any place: its drop when new at a stated flow, and the three ways it goes wrong."""
    return KindSpec(
        name=name,
        meaning=meaning,
        ports=ports,
        fields=(
            _field("reference_flow", "flow at which the drop is stated", flow, 0.05 * M3S_PER_CFM, 40 * M3S_PER_CFM),
            _field("reference_drop", "drop across a new element at that flow", drop, 0.005 * _INHG, 5 * _INHG),
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
            _field("reference_flow", "air use at the stated drop", flow, 0.05 * M3S_PER_CFM, 12 * M3S_PER_CFM),
            _field("reference_drop", "drop at which the air use is stated", drop, 0.5 * _INHG, 15 * _INHG),
        ),
        states=(
            _times("jet_fraction", "jet area against its own when clean", 0.01, 2.0),
            _leak("case_leak", "hole in the case, to the cabin", 100.0),
            _flag("capped", "its line is disconnected and both open ends are capped"),
        ),
        is_gyro=True,
    )


_KINDS: Final = (
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
    KindSpec(
        name="regulator",
        meaning="holds the difference at the gyros: admits air in suction duty, dumps air in pressure duty",
        ports=(
            PortSpec("gyro_side", "towards the gyros"),
            PortSpec("pump_side", "towards the pump"),
            PortSpec("air", "intake (suction) or dump (pressure), behind its own filter", _EITHER),
        ),
        fields=(
            _field(
                "setting", "what the gauge reads when it is set", common_practice.REGULATOR_SETTING, _INHG, 15 * _INHG
            ),
            _field("set_at_rpm", "engine speed at which it is set", common_practice.REGULATOR_SET_AT_RPM, 500, 4000),
            _field(
                "droop",
                "change of difference from just open to full lift",
                judgement.REGULATOR_DROOP,
                0.05 * _INHG,
                10 * _INHG,
            ),
            _field("flow_area", "passage at full lift", judgement.REGULATOR_FLOW_AREA, _MM2, 1000 * _MM2),
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
            _flag("stuck_shut", "does not open"),
            _flag("covered", "test state: its air intake covered by hand"),
            _flag("blanked", "test state: taken out and its port blanked"),
        ),
    ),
    KindSpec(
        name="check valve",
        meaning="lets air towards the pump and not back from it (away from the pump in pressure duty)",
        ports=(PortSpec("inlet", "where air enters"), PortSpec("outlet", "where the arrow points")),
        fields=(
            _field("flow_area", "passage when open", judgement.CHECK_VALVE_FLOW_AREA, _MM2, 1000 * _MM2),
            _field(
                "opening", "difference that opens it fully", judgement.CHECK_VALVE_OPENING, 0.001 * _INHG, 2 * _INHG
            ),
        ),
        states=(
            _flag("stuck_open", "lets air both ways"),
            _flag("stuck_shut", "lets no air through"),
        ),
    ),
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
        fields=(_field("area", "effective passage", judgement.RESTRICTOR_AREA, 0.05 * _MM2, 200 * _MM2),),
    ),
    KindSpec(
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
                0.5 * M_PER_IN**3,
                30 * M_PER_IN**3,
            ),
            _field(
                "volumetric_efficiency",
                "share of the swept volume that is filled",
                judgement.PUMP_VOLUMETRIC_EFFICIENCY,
                0.3,
                1.0,
            ),
            _field("drive_ratio", "pump turns for one engine turn", memory.PUMP_DRIVE_RATIO, 0.5, 3.0),
            _field(
                "slip_area",
                "internal leakage of the sound pump as one ideal jet",
                judgement.PUMP_SLIP_AREA,
                0.0,
                200 * _MM2,
            ),
        ),
        states=(
            _times("slip", "internal leakage against the sound pump", 0.1, 100.0),
            _flag("stopped", "does not turn: coupling sheared or rotor broken"),
            _times("displacement_factor", "swept volume against its own", 0.0, 1.5),
            StateSpec(
                name="outlet_blocked",
                meaning="share of the outlet passage that is blocked",
                neutral=0.0,
                low=0.0,
                high=1.0,
                unit="fraction",
            ),
        ),
    ),
    KindSpec(
        name="autopilot",
        meaning="takes attitude or heading from an indicator by an electrical pickoff; uses no air here",
        ports=(),
    ),
    KindSpec(
        name="line",
        meaning="a hose or tube between two ports",
        ports=(PortSpec("start", "one end"), PortSpec("end", "the other end")),
        fields=(
            _field("length", "length of the run", judgement.LINE_LENGTH, 0.005, 20.0),
            _field("bore", "inner diameter", judgement.LINE_BORE, 0.001, 0.06),
            _field("elbows", "number of 90 degree bends and elbow fittings", judgement.LINE_ELBOWS, 0.0, 20.0),
            _field("roughness", "roughness of the wall", judgement.LINE_ROUGHNESS, 0.0, 0.001),
        ),
        states=(
            StateSpec(
                name="open_fraction",
                meaning="share of the bore area left open",
                neutral=1.0,
                low=0.0,
                high=1.0,
                unit="fraction",
            ),
            _leak("leak", "hole to the surroundings it runs in", 400.0),
            _flag("off", "hose off at its pump-side end"),
        ),
    ),
)

KINDS: Final[dict[str, KindSpec]] = {kind.name: kind for kind in _KINDS}
"""Every kind of part, and ``line``, by name."""

_RPM_LOW, _RPM_HIGH = 200.0, 6000.0

SECTIONS: Final[dict[str, tuple[FieldSpec, ...]]] = {
    "engine": (
        _field("idle_rpm", "idle speed", judgement.IDLE_RPM, _RPM_LOW, _RPM_HIGH),
        _field("run_up_rpm", "run-up speed", judgement.RUN_UP_RPM, _RPM_LOW, _RPM_HIGH),
        _field("cruise_rpm", "cruise speed", judgement.CRUISE_RPM, _RPM_LOW, _RPM_HIGH),
        _field("max_rpm", "highest speed", judgement.MAX_RPM, _RPM_LOW, _RPM_HIGH),
    ),
    "field": (
        _field("elevation", "elevation of the home field", judgement.FIELD_ELEVATION, -450.0, 5500.0),
        FieldSpec(
            name="latitude", dimension="angle", meaning="latitude, north positive", default=None, low=-90.0, high=90.0
        ),
    ),
    "gauge": (
        _field("band_low", "low end of the band on its face", faa_handbooks.GAUGE_BAND_LOW, 0.5 * _INHG, 15 * _INHG),
        _field("band_high", "high end of the band on its face", faa_handbooks.GAUGE_BAND_HIGH, 0.5 * _INHG, 15 * _INHG),
        _field("bias_sd", "offset error, one standard deviation", judgement.GAUGE_BIAS_SD, 0.0, 3 * _INHG),
        _field("scale_sd", "scale error, one standard deviation", judgement.GAUGE_SCALE_SD, 0.0, 0.3),
        _field(
            "read_sd", "error of reading the needle, one standard deviation", judgement.GAUGE_READ_SD, 0.0, 2 * _INHG
        ),
    ),
    "lamp": (_field("trip", "difference at which it changes", memory.LAMP_TRIP, 0.5 * _INHG, 10 * _INHG),),
}
"""Numbers of a description that belong to no part: engine, home field, gauge and lamp."""
