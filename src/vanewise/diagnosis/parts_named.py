"""Which kinds of part an event, a remark or a check may name, and which parts of an aircraft those are.

Only words that are plainly of one kind of part are here; any other may name any part. A hose is named by its line, a
look at a point of the system by that point, and an autopilot that wanders is of the autopilot or of what it follows.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from types import MappingProxyType
from typing import Final

from vanewise.aircraft.description import AircraftDescription
from vanewise.diagnosis.checks import CHECKS
from vanewise.diagnosis.symptoms import SYMPTOMS
from vanewise.errors import Problem
from vanewise.network.observe import gyros
from vanewise.wording import listed

INSTRUMENT: Final = "air-driven instrument"
HOSE: Final = "hose or tube"
_FILTERS: Final = ("intake filter", "inline filter", "inlet filter")
_AT_OUTLET: Final = ("pump", HOSE)
_ANY_PUMP: Final = ("pump", "standby pump")

OF_EVENT: Final[Mapping[str, tuple[str, ...]]] = MappingProxyType(
    {
        "pump_changed": ("pump",),
        "pump_past_its_hours": ("pump",),
        "former_pump_short_life": ("pump",),
        "wrong_gasket": ("pump",),
        "regulator_adjusted": ("regulator",),
        "regulator_changed": ("regulator",),
        "regulator_filter_changed": ("regulator",),
        "foam_crumbled": ("regulator",),
        "gyro_changed": (INSTRUMENT,),
        "gyro_past_its_hours": (INSTRUMENT,),
        "second_gyro_within_90_days": (INSTRUMENT,),
        "gauge_changed": ("gauge",),
        "hose_changed": (HOSE,),
        "old_hoses": (HOSE,),
        "intake_filter_changed": ("intake filter",),
        "inline_filter_changed": ("inline filter",),
        "inlet_filter_changed": ("inlet filter",),
        "filter_overdue": _FILTERS,
    }
)
"""Event -> kinds of the part it is about."""

_SEEN_ON: Final[Mapping[str, tuple[str, ...]]] = MappingProxyType(
    {
        **dict.fromkeys(("oil_on_coupling", "coupling_parted", "oil_at_pad_joint"), ("pump",)),
        **dict.fromkeys(
            ("pump_shaft_locked", "pump_hot", "pump_noise", "vise_marks_on_pump", "oily_paste_in_pump"), _ANY_PUMP
        ),
        **dict.fromkeys(("soot_thin", "soot_heavy", "nest_in_outlet", "outlet_hose_kinked"), _AT_OUTLET),
        **dict.fromkeys(
            ("filter_grey", "filter_black", "filter_wet", "filter_tarred", "filter_missing", "dust_at_filter_face"),
            _FILTERS,
        ),
        "inline_filter_black": ("inline filter",),
        "inlet_filter_dirty": ("inlet filter",),
        "regulator_foam_missing": ("regulator",),
        "grit_in_regulator": ("regulator",),
        **dict.fromkeys(
            ("dust_at_instrument_inlet", "shop_found_dust_in_indicator", "fault_went_with_instrument"), (INSTRUMENT,)
        ),
        **dict.fromkeys(("gauge_frozen", "gauge_off_its_stop"), ("gauge",)),
        "lamp_dark_on_test": ("lamp",),
    }
)
"""What was seen on a part -> kinds of that part; what an indicator does says itself which kind it is of."""

_LOOKED_AT: Final[Mapping[str, tuple[str, ...]]] = MappingProxyType(
    {
        **dict.fromkeys(("wear_port", "coupling_look", "coupling_turn", "pump_off_look", "pump_teardown"), ("pump",)),
        **dict.fromkeys(("pump_marking_look", "pump_port_look", "pad_joint_look"), ("pump",)),
        "outlet_look": _AT_OUTLET,
        **dict.fromkeys(("test_gauge", "engine_off_gauge"), ("gauge",)),
        **{
            name: (check.needs_part,)
            for name, check in CHECKS.items()
            if check.needs_part and name != "stop_each_source"  # each source is looked at, through its check valve
        },
    }
)
"""Check -> kinds of the part it is done at."""


def of_remark(symptom: str) -> tuple[str, ...]:
    """Kinds of part a remark may be about; empty for any."""
    known = SYMPTOMS.get(symptom)
    if known is None or not known.instrument:
        return _SEEN_ON.get(symptom, ())
    return (known.instrument, "autopilot") if known.group == "autopilot" else (known.instrument,)


def of_check(check: str) -> tuple[str, ...]:
    """Kinds of part a check is done at, by its id; empty for any."""
    return _LOOKED_AT.get(check, ())


def part_ids(description: AircraftDescription) -> list[str]:
    """Every part and line by id, with the panel gauge and the lamp."""
    return [*(part.id for part in description.parts), *(line.id for line in description.lines), "gauge", "lamp"]


def of_kinds(description: AircraftDescription, kinds: Iterable[str]) -> tuple[str, ...]:
    """The parts of some kinds by id, of a kind in the order of the description."""
    found: list[str] = []
    for kind in kinds:
        if kind == INSTRUMENT:
            found += gyros(description)
        elif kind == HOSE:
            found += (line.id for line in description.lines)
        elif kind in ("gauge", "lamp"):
            found.append(kind)
        else:
            found += (part.id for part in description.parts_of(kind))
    return tuple(found)


def of_wrong_kind(
    description: AircraftDescription, where: str, part: str, kinds: tuple[str, ...], field: str = "about"
) -> list[Problem]:
    """The problem of naming a part of this aircraft that is none of ``kinds``; empty where it may be named.

    A part that this aircraft does not have, or a port, is for others to refuse.
    """
    if not part or not kinds or part not in part_ids(description):
        return []
    fitting = of_kinds(description, kinds)
    if part in fitting:
        return []
    leave_out = f"leave {field} out where nobody knows which it was"
    write = f"write {'one of these' if len(fitting) > 1 else fitting[0]}, or {leave_out}" if fitting else leave_out
    named = listed(fitting, "or") if fitting else "none is described"
    return [
        Problem(
            where=f"{where} {field}",
            expected=f"{kind_words(kinds)} of this aircraft, by its id ({named})",
            found=f'"{part}", {_a(_kind_of(description, part))}',
            next_step=write,
        )
    ]


def kind_words(kinds: Iterable[str]) -> str:
    """``a pump or a regulator``."""
    return listed([_a(kind) for kind in kinds], "or")


def _kind_of(description: AircraftDescription, part: str) -> str:
    kinds = {own.id: own.kind for own in description.parts} | {line.id: HOSE for line in description.lines}
    return kinds.get(part, part)


def _a(kind: str) -> str:
    return f"{'an' if kind[0] in 'aeiou' else 'a'} {kind}"
