"""Did it work, and by what margin: the predicted band of this aircraft at each test point, and the verdict."""

from vanewise.groundrun.drift import earth_rate_deg_h, earth_share_deg, rest_deg
from vanewise.groundrun.prediction import predict
from vanewise.groundrun.types import GroundRunPlan, GroundRunReading, GroundRunVerdict, PointVerdict, TestPoint
from vanewise.groundrun.verdict import judge

__all__ = [
    "GroundRunPlan",
    "GroundRunReading",
    "GroundRunVerdict",
    "PointVerdict",
    "TestPoint",
    "earth_rate_deg_h",
    "earth_share_deg",
    "judge",
    "predict",
    "rest_deg",
]
