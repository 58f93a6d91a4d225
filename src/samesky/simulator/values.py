"""What is a value in the simulator? A float, or an array whose last axis is the runs (campaigns, runs)."""

from __future__ import annotations

import numpy as np

#: SI, a scalar or an array that broadcasts against (campaigns, runs).
Value = float | np.ndarray
