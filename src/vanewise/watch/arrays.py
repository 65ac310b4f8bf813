"""Names for the arrays that the statistics pass about."""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
Integers = npt.NDArray[np.signedinteger[Any]]
Flags = npt.NDArray[np.bool_]
