"""The heading indicator's drift, with the earth's own share taken out.

A free gyro keeps its direction in space while the earth turns under it: its card moves by 15 sin(latitude) degrees an
hour, the indication falling north of the equator and rising south of it. Taxiing or flying east adds the transport
wander. An instrument balanced for a latitude has that share built in, so say so where it is.
"""

from __future__ import annotations

import math

from vanewise.errors import wrong
from vanewise.values.ground_run_limits import EARTH_RATE_DEG_H


def earth_rate_deg_h(latitude_deg: float) -> float:
    """Apparent drift [deg/h] of a free heading gyro at rest; its indication falls by this north of the equator.

    Source: Flight Navigator Handbook (15 x sine of the latitude). Raises :class:`InputError` beyond 90 degrees.
    """
    if not -90.0 <= latitude_deg <= 90.0:
        raise wrong("latitude", "-90 to 90 degrees, north positive", f"{latitude_deg:g}", "write the field's latitude")
    return EARTH_RATE_DEG_H.number * math.sin(math.radians(latitude_deg))


def transport_rate_deg_h(latitude_deg: float, eastward_knots: float) -> float:
    """Wander [deg/h] from moving east: eastward speed in knots over 60, times the tangent of the latitude."""
    if abs(latitude_deg) > 89.0:
        raise wrong("latitude", "within 89 degrees for transport wander", f"{latitude_deg:g}", "use a grid heading")
    return eastward_knots / 60.0 * math.tan(math.radians(latitude_deg))


def earth_share_deg(latitude_deg: float, minutes: float, eastward_knots: float = 0.0) -> float:
    """Change of indication [deg] over ``minutes`` that the earth and the travel alone explain (negative: falling)."""
    rate = earth_rate_deg_h(latitude_deg)
    if eastward_knots:
        rate += transport_rate_deg_h(latitude_deg, eastward_knots)
    return -rate * minutes / 60.0


def rest_deg(drift_deg: float, minutes: float, latitude_deg: float, eastward_knots: float = 0.0) -> float:
    """The drift [deg] that is the instrument's own."""
    return drift_deg - earth_share_deg(latitude_deg, minutes, eastward_knots)
