"""Shapes of the parts, drawn after the ideas of ISO 1219-1 (from memory of it; conformity is not claimed).

Each is drawn in a square of 40 by 40 round its middle, air entering at the top and leaving at the bottom. An open
triangle stands for air (a filled one would be liquid). Instruments have no shape in that standard; theirs are the
faces a pilot knows.
"""

from __future__ import annotations

from types import MappingProxyType
from typing import Final

_PUMP = (
    '<circle r="17"/><path class="open" d="M-8 3h16l-4 0l-4 13l-4 -13z"/>'
    '<path d="M-17 -1.5h-6M-17 1.5h-6"/><path class="thin" d="M-23 -6a5 8 0 0 0 0 12m0 0l-2.6 -1.2m2.6 1.2l1 -2.8"/>'
)
_FILTER = '<path d="M0 -18L18 0L0 18L-18 0z"/><path class="dash" d="M-18 0h36"/>'
_CHECK_VALVE = '<path class="bare" d="M0 -18v7M0 15v3M-10 3L0 -11L10 3"/><circle cy="2" r="6"/><path d="M0 8v10"/>'
_REGULATOR = (
    '<rect x="-11" y="-11" width="22" height="22"/><path class="bare" d="M4 -11v22m0 0l-2.6 -5m2.6 5l2.6 -5"/>'
    '<path class="bare" d="M-11 0l-2 -3l-2 6l-2 -6l-2 6l-1 -3"/>'
    '<path class="thin" d="M-20 7l7 -14m0 0l-3 1.5m3 -1.5l.4 3.4"/>'
    '<path class="dash" d="M0 -18v4h8v3"/><path class="bare" d="M0 -18v0M0 11v7"/>'
)
_RESTRICTOR = '<path class="bare" d="M-7 -10q6 10 0 20M7 -10q-6 10 0 20M0 -18v36"/>'
_MANIFOLD = '<path class="heavy" d="M-44 0h88"/>'
_ATTITUDE = (
    '<circle r="17"/><path class="bare" d="M-15.5 -3L15.5 5"/>'
    '<path class="thin" d="M-9 1h6l3 3l3 -3h6"/><path class="thin" d="M0 -17v5M-9.5 -14l2 4M9.5 -14l-2 4"/>'
)
_HEADING = (
    '<circle r="17"/><path class="thin" d="M0 -17v5M0 17v-5M-17 0h5M17 0h-5"/>'
    '<path class="thin" d="M-12 -12l3 3M12 12l-3 -3M12 -12l-3 3M-12 12l3 -3"/>'
    '<path class="open" d="M0 -9l3.4 7h-3.4h-3.4z"/><path class="bare" d="M0 -2v10"/>'
)
_TURN = '<circle r="17"/><path class="bare" d="M0 9L5 -13"/><path class="thin" d="M-11 -9l-2 -3M11 -9l2 -3M-6 12h12"/>'
_GAUGE = '<circle r="17"/><path class="bare" d="M-8 8L9 -9m0 0l-6 1.4m6 -1.4l-1.4 6"/>'
_LAMP = '<circle r="12"/><path class="bare" d="M-8.5 -8.5l17 17M8.5 -8.5l-17 17"/>'
_STANDBY_PUMP = (
    '<circle r="17"/><path class="open" d="M-8 3h16l-4 0l-4 13l-4 -13z"/>'
    '<circle class="thin" cx="-26" r="6"/><path class="thin" d="M-20 -1.5h3M-20 1.5h3M-28.5 3v-6l2.5 4l2.5 -4v6"/>'
)
_INTAKE = (
    '<path class="bare" d="M0 -18v14M-16 -4h32M-16 16h32"/><path d="M-16 -4q10 10 0 20M16 -4q-10 10 0 20"/>'
    '<path class="thin" d="M-9 6h18m0 0l-4 -2.5m4 2.5l-4 2.5"/>'
)
_BOOTS = '<path d="M-17 -8h34M-17 -8q0 -8 8 -8h18q8 0 8 8M-17 -8v6q4 6 8 0q4 6 9 0q5 6 9 0q4 6 8 0v-6"/>'
_SEAL = (
    '<rect x="-14" y="-14" width="28" height="28" rx="6"/>'
    '<rect class="thin" x="-8" y="-8" width="16" height="16" rx="3"/>'
)
_BOOTS_VALVE = (
    '<rect x="-18" y="-9" width="36" height="18"/><path class="bare" d="M0 -9v18M-9 -9v18m0 0l-2.6 -5m2.6 5l2.6 -5"/>'
    '<path class="bare" d="M9 -9v5M6 -4h6M9 9v-5M6 4h6"/><path class="bare" d="M0 -18v9M0 9v9"/>'
)
_OTHER = '<rect x="-14" y="-14" width="28" height="28"/>'

SHAPES: Final = MappingProxyType(
    {
        "pump": _PUMP,
        "intake filter": _FILTER,
        "inline filter": _FILTER,
        "inlet filter": _FILTER,
        "check valve": _CHECK_VALVE,
        "regulator": _REGULATOR,
        "restrictor": _RESTRICTOR,
        "standby pump": _STANDBY_PUMP,
        "intake source": _INTAKE,
        "de-ice boots": _BOOTS,
        "door seal": _SEAL,
        "boots valve": _BOOTS_VALVE,
        "relief valve": _REGULATOR,
        "manifold": _MANIFOLD,
        "attitude indicator": _ATTITUDE,
        "heading indicator": _HEADING,
        "turn indicator": _TURN,
        "gauge": _GAUGE,
        "lamp": _LAMP,
    }
)


def shape(kind: str) -> str:
    """The shape of a kind as SVG; a plain square for a kind that has none."""
    return SHAPES.get(kind, _OTHER)
