"""Constants of the flow laws as plain numbers, shared by the compiled kernel and the numpy oracle.

Each comes from ``values``, where its source stands. The kernel's cache is keyed by this file and those.
"""

from __future__ import annotations

from typing import Final

from vanewise.values import air_lines, iso_6358
from vanewise.values import standard_atmosphere_1976 as usa76

GAS_R: Final = usa76.GAS_CONSTANT.number
NOZZLE_K: Final = iso_6358.CHOKED_FLOW_CONSTANT.number
MU_BETA: Final = usa76.SUTHERLAND_BETA.number
MU_S: Final = usa76.SUTHERLAND_S.number

CORE: Final = iso_6358.LINEAR_CORE_RATIO.number
"""Above this pressure ratio an orifice is linear in the drop."""
LAMINAR_RE: Final = air_lines.LAMINAR_TO_RE.number
LAMINAR_KARMAN: Final = (64.0 * LAMINAR_RE) ** 0.5
LINK_KARMAN: Final = air_lines.TURBULENT_FROM_KARMAN.number
COLEBROOK: Final = 2.51
LOG10_E: Final = 0.4342944819032518

ACCELERATION_KARMAN: Final = (50.0, 2e4)
"""Karman numbers between which the friction that acceleration is judged by changes; beyond them it is held."""

LEAST_RATIO: Final = 1e-5
"""A virtual operating point never lets the low side fall under this share of the high side."""
LARGEST_FALL: Final = 0.7
LARGEST_RISE: Final = 3.0
"""Bounds on one Newton step, as shares of the pressure it moves."""
NEAR: Final = 0.3
"""A virtual drop that is within this share of the real one moves there, so that the last steps are plain Newton's."""
VALVE_STEP: Final = 0.5
"""Most that a valve's opening may move in one step, as a share of its full lift."""
CALM_AFTER: Final = 16
"""Iterations after which virtual drops move half way only: what still swings between two points then settles."""
FLOW_TOLERANCE: Final = 1e-11
"""Summed mass imbalance [kg/s] at which the iteration stops."""
GAP_TOLERANCE: Final = 1.0
"""Largest distance [Pa] left between the virtual drops and the real ones."""
LARGEST_RADIUS: Final = 0.02
"""Widest enclosure [Pa] taken without polishing."""
WIDEST_RADIUS: Final = 1.0
"""An enclosure [Pa] wider than this is no proof."""
MOST_POLISH: Final = 6
"""Plain Newton steps spent on a wider one."""
ROUNDING: Final = 1e-17
"""Allowance for rounding [kg/s] of a balance in the certificate, beside the next."""
PRESSURE_ROUNDING: Final = 4.0 * 2.220446049250313e-16
"""... and of the pressures, as a share of each: times a junction's own slope it is what rounding can do to a flow.

In units of one rounding step eps of the pressure. A point of the enclosure is stored to half a step and its centre to
half a step: 1 at the junction itself, and 1 for all its neighbours together, whose slopes add up to no more than its
own. Working out the laws adds up to 1.3 as measured against extended precision (``tests/laws``). In all 3.3, so 4.
"""
ENCLOSURE_ROUNDS: Final = 6
"""Tries to find a point on each side of the solution ..."""
ENCLOSURE_GROWTH: Final = 8.0
"""... each aiming this many times further beyond it."""
LEAST_PRESSURE: Final = 1e-3
"""No pressure [Pa] is taken below this."""
MOST_ITERATIONS: Final = 60
STARTS: Final = (0.0, 0.9, 1.0, 0.6, 1.4)
"""First guesses tried in turn, as shares of ambient pressure; 0 is the network's own (its sound solution)."""
BAND_LADDER: Final = (300.0, 100.0, 30.0, 10.0, 5.0, 2.5, 1.6, 1.25, 1.1, 1.0)
"""Continuation: opening bands of all valves widened by these factors, each solution starting the next."""
