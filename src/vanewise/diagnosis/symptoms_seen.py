"""Symptoms seen on a part: engine bay, lines and filters (groups D and E of the trade)."""

from __future__ import annotations

from typing import Final

from vanewise.diagnosis.symptom_kinds import Symptom

SEEN: Final[tuple[Symptom, ...]] = (
    Symptom(id="oil_at_drain", group="engine bay", words="oil at the drain below the pump", base=0.03, direct=True),
    Symptom(id="oil_on_coupling", group="engine bay", words="oil on the drive coupling", base=0.02, direct=True),
    Symptom(id="soot_thin", group="engine bay", words="thin soot at the pump outlet", base=0.25, direct=True),
    Symptom(id="soot_heavy", group="engine bay", words="heavy soot at the pump outlet", base=0.025, direct=True),
    Symptom(id="grey_dust_on_cowl", group="engine bay", words="grey dust on the cowling", base=0.015, direct=True),
    Symptom(id="pump_hot", group="engine bay", words="pump body hot, blue or brown", base=0.025, direct=True),
    Symptom(id="pump_noise", group="engine bay", words="pump noisy", base=0.015),
    Symptom(id="hose_soft", group="engine bay", words="hose soft", base=0.03, direct=True),
    Symptom(id="hose_cracked", group="engine bay", words="hose cracked", base=0.03, direct=True),
    Symptom(id="hose_kinked", group="engine bay", words="hose kinked or flattened", base=0.015, direct=True),
    Symptom(id="hose_liner_loose", group="engine bay", words="hose liner loose", base=0.01, direct=True),
    Symptom(id="fitting_cracked", group="engine bay", words="fitting cracked", base=0.01, direct=True),
    Symptom(id="clamp_loose", group="engine bay", words="clamp loose", base=0.025, direct=True),
    Symptom(id="nest_in_outlet", group="engine bay", words="nest or dirt in the pump outlet", base=0.01, direct=True),
    Symptom(id="hose_found_off", group="engine bay", words="hose found off its fitting", base=0.002, direct=True),
    Symptom(id="oil_on_belly", group="engine bay", words="oil on the belly behind the engine", base=0.12, direct=True),
    Symptom(id="oil_at_pad_joint", group="engine bay", words="oil at the pump's pad joint", base=0.015, direct=True),
    Symptom(id="vise_marks_on_pump", group="engine bay", words="jaw marks on the pump body", base=0.01, direct=True),
    Symptom(id="cap_missing", group="engine bay", words="a cap or plug not in its place", base=0.004, direct=True),
    Symptom(
        id="dust_track_at_joint", group="engine bay", words="dust track at a joint or crack", base=0.015, direct=True
    ),
    Symptom(id="filter_grey", group="filter", words="intake filter grey or brown", base=0.25, direct=True),
    Symptom(id="filter_wet", group="filter", words="intake filter wet", base=0.01, direct=True),
    Symptom(id="filter_missing", group="filter", words="no element in the filter", base=0.003, direct=True),
    Symptom(id="foam_crumbs", group="filter", words="crumbs of regulator foam", base=0.025, direct=True),
    Symptom(id="inline_filter_black", group="filter", words="inline filter black", base=0.10, direct=True),
    Symptom(
        id="dust_at_instrument_inlet",
        group="filter",
        words="dark dust at an instrument's inlet",
        base=0.025,
        direct=True,
    ),
    Symptom(
        id="shop_found_dust_in_indicator",
        group="filter",
        words="instrument shop found dark dust round the rotor",
        base=0.015,
        direct=True,
    ),
    Symptom(id="filter_black", group="filter", words="intake filter black", base=0.01, direct=True),
    Symptom(
        id="filter_tarred", group="filter", words="intake filter brown and sticky with smoke", base=0.01, direct=True
    ),
    Symptom(id="dust_at_filter_face", group="filter", words="dust on the intake filter's face", base=0.20, direct=True),
    Symptom(id="regulator_foam_missing", group="filter", words="no foam on the regulator", base=0.005, direct=True),
    Symptom(
        id="carbon_in_hose",
        group="engine bay",
        words="carbon chips or black dust in a hose or fitting",
        base=0.01,
        direct=True,
    ),
    Symptom(id="coupling_parted", group="engine bay", words="drive coupling found parted", base=0.001, direct=True),
    Symptom(
        id="pump_shaft_locked",
        group="engine bay",
        words="pump shaft found locked, rough or hard to turn",
        base=0.005,
        direct=True,
    ),
    Symptom(
        id="oily_paste_in_pump",
        group="engine bay",
        words="wet black paste in the pump's ports",
        base=0.005,
        direct=True,
    ),
    Symptom(
        id="rubber_slivers",
        group="engine bay",
        words="slivers of rubber in regulator, hose or pump inlet",
        base=0.01,
        direct=True,
    ),
    Symptom(
        id="tape_or_sealant_found",
        group="engine bay",
        words="tape or sealant in a port, a line or the regulator",
        base=0.01,
        direct=True,
    ),
    Symptom(
        id="grit_in_regulator", group="engine bay", words="grit or carbon in the regulator", base=0.015, direct=True
    ),
    Symptom(
        id="fitting_overturned",
        group="engine bay",
        words="fitting turned far, or turned back, to reach its angle",
        base=0.01,
        direct=True,
    ),
    Symptom(
        id="water_in_line", group="engine bay", words="water in a line, a low loop or the pump", base=0.008, direct=True
    ),
    Symptom(
        id="outlet_hose_kinked", group="engine bay", words="outlet hose kinked, soft or closed", base=0.01, direct=True
    ),
    Symptom(id="inlet_filter_dirty", group="filter", words="pump inlet filter dirty", base=0.2, direct=True),
    Symptom(id="oil_in_line", group="engine bay", words="oil in a line", base=0.005, direct=True),
)
