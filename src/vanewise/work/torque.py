"""Torque at the wrench: adapters at any angle, the drag of a self-locking nut, and the highest allowed.

The value itself comes from the pump's or engine's own sheet; there is no default. Lengths and torques may be in any
unit as long as each is used throughout: only ratios of lengths matter.
"""

from __future__ import annotations

import math
from typing import Literal

import msgspec

from vanewise.errors import InputError, Problem, wrong
from vanewise.provenance import Source, Value
from vanewise.quantities import NM_PER_IN_LB, shown
from vanewise.values.ac_43_13_1b import ROWS, TABLE_7_1, NutKind, TorqueRow
from vanewise.work.types import TorqueLine

FORMULA = "setting = wanted x L / (L + E cos a)"
"""L: square drive to middle of the grip; E: square drive to middle of the nut; a: the angle between the two."""


def _ratio(lever: float, offset: float, angle_deg: float) -> float:
    """Applied over set torque: 1 + E cos(a) / L."""
    if lever <= 0.0:
        raise wrong(
            "wrench lever", "a length above 0, square drive to middle of grip", lever, "measure the wrench in use"
        )
    if offset < 0.0:
        raise wrong("adapter offset", "a length of 0 or more; the angle says which way it points", offset, "measure it")
    ratio = 1.0 + offset * math.cos(math.radians(angle_deg)) / lever
    if ratio <= 0.0:
        raise wrong(
            "adapter", "an adapter shorter than the wrench when it points back", f"{offset} against {lever}", "turn it"
        )
    return ratio


def adapter_setting(wanted: float, lever: float, offset: float, angle_deg: float = 0.0) -> float:
    """What to set the wrench to so that ``wanted`` acts on the nut through an adapter.

    ``lever`` is the wrench from its square drive to the middle of the grip, ``offset`` the adapter from the square
    drive to the middle of the nut, ``angle_deg`` between adapter and wrench: 0 straight on (lengthens), 90 to the side
    (no change), 180 back over the handle. Same unit in as out. Raises :class:`InputError` for impossible lengths.

    Source: AC 43.13-1B, chapter 7, figure 7-2 (remembered), at 0 and 180 degrees; other angles by geometry.
    """
    return wanted / _ratio(lever, offset, angle_deg)


def applied_torque(setting: float, lever: float, offset: float, angle_deg: float = 0.0) -> float:
    """What acts on the nut when the wrench clicks at ``setting``: the inverse of :func:`adapter_setting`."""
    return setting * _ratio(lever, offset, angle_deg)


class TorqueRange(msgspec.Struct, frozen=True, kw_only=True):
    """Low and high torque at the nut [N m], and the highest allowed, each with drag already added."""

    low_nm: float
    high_nm: float
    highest_nm: float | None
    drag_nm: float
    source: Source

    @property
    def words(self) -> str:
        low, high = self.low_nm / NM_PER_IN_LB, self.high_nm / NM_PER_IN_LB
        return f"{low:.0f} to {high:.0f} in-lb ({self.low_nm:.1f} to {self.high_nm:.1f} N m), {self.source}"


def handbook_range(thread: str, kind: NutKind = "tension", drag_nm: float = 0.0) -> TorqueRange:
    """Table 7-1 with the running torque of a self-locking nut added: only where nothing else is specified.

    Raises :class:`InputError` for a thread the table does not hold.
    """
    row = _row(thread, kind)
    return TorqueRange(
        low_nm=row.low * NM_PER_IN_LB + drag_nm,
        high_nm=row.high * NM_PER_IN_LB + drag_nm,
        highest_nm=None if row.highest is None else row.highest * NM_PER_IN_LB + drag_nm,
        drag_nm=drag_nm,
        source=TABLE_7_1,
    )


def _row(thread: str, kind: NutKind) -> TorqueRow:
    if (thread, kind) not in ROWS:
        known = ", ".join(dict.fromkeys(name for name, _ in ROWS))
        raise wrong(
            "thread", f"one of {known}", f'"{thread}"', "read the thread off the part, or use the maker's sheet"
        )
    return ROWS[thread, kind]


def torque_problem(applied_nm: float, allowed: TorqueRange) -> Problem | None:
    """Why a torque at the nut cannot be accepted: above the highest allowed, or outside the wanted range."""
    found = shown(applied_nm, "torque")
    if allowed.highest_nm is not None and applied_nm > allowed.highest_nm:
        return Problem(
            where="torque at the nut",
            expected=f"not above {shown(allowed.highest_nm, 'torque')}, drag included ({allowed.source})",
            found=found,
            next_step="nut and stud are overtightened: take them out of use and look at the pad",
        )
    # A wrench is read to its nearest division; a thousandth of the value is below any.
    if not allowed.low_nm * 0.999 <= applied_nm <= allowed.high_nm * 1.001:
        return Problem(
            where="torque at the nut",
            expected=allowed.words,
            found=found,
            next_step="loosen, look at the thread, and tighten again in two or three passes",
        )
    return None


class Wrench(msgspec.Struct, frozen=True, kw_only=True):
    """The wrench and adapter in use: lengths in m, angle in degrees, and who keeps it calibrated."""

    lever_m: float
    offset_m: float = 0.0
    angle_deg: float = 0.0
    identity: str = ""
    calibrated_on: str = ""


_OWN_SHEET = "from the pump's or engine's own sheet: ________ in-lb"


def torque_line(
    line_id: str,
    what: str,
    wanted: Value | None = None,
    wrench: Wrench | None = None,
    drag_nm: float | None = None,
    sheet: Literal["pump or engine", "instrument", "own manual"] = "pump or engine",
) -> TorqueLine:
    """One line of the torque sheet. Without a value from the aircraft's own people it is a blank to be filled in."""
    adapter = FORMULA if wrench is None else _wrench_words(wrench)
    if wanted is None:
        text = _OWN_SHEET if sheet == "pump or engine" else f"from the {sheet}'s own sheet: ________ in-lb"
        return TorqueLine(id=line_id, what=what, wanted=text, adapter=adapter)
    if wanted.dimension != "torque":
        raise InputError(
            Problem(
                where=f"{what}, torque",
                expected="a torque such as 90 in-lb or 10 N m",
                found=wanted.dimension,
                next_step="write the value with its unit, from the maker's own sheet",
            )
        )
    at_nut = wanted.number + (drag_nm or 0.0)
    drag = f" + {shown(drag_nm, 'torque')} running torque" if drag_nm else ""
    setting = (
        ""
        if wrench is None
        else shown(adapter_setting(at_nut, wrench.lever_m, wrench.offset_m, wrench.angle_deg), "torque")
    )
    return TorqueLine(
        id=line_id,
        what=what,
        wanted=f"{shown(wanted.number, 'torque')} ({shown(wanted.number, 'torque', True)}){drag}, {wanted.source}",
        adapter=adapter,
        setting=setting,
    )


def _wrench_words(wrench: Wrench) -> str:
    name = f"wrench {wrench.identity}, " if wrench.identity else ""
    date = f", calibrated {wrench.calibrated_on}" if wrench.calibrated_on else ""
    return (
        f"{name}L {shown(wrench.lever_m, 'length')}, E {shown(wrench.offset_m, 'length')}, "
        f"a {wrench.angle_deg:.0f} deg{date}"
    )
