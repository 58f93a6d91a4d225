"""What do numbers look like inside? Names for the types that pass between the rooms; nothing is computed here.

Everything inside is plain SI. Arrays broadcast, and their last axis is the runs (or the legs, the stations: each
function says so), so that one campaign and ten thousand simulated ones take the same path. Imported for type checking
only: no verb waits for it.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import numpy.typing as npt

#: Real numbers of any shape; NaN is a number that was not written down.
Floats = npt.NDArray[np.float64]
#: One number, or an array of them.
Numbers = Floats | float
#: Yes or no for each number of an array.
Flags = npt.NDArray[np.bool_]
#: Whole numbers that count or point: labels, places in an array.
Counts = npt.NDArray[np.intp]
#: Numbers by name: an array each, or one number for all runs.
Columns = Mapping[str, Numbers]
