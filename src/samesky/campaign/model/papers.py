"""What do the papers ask of whatever is fitted, as the pilot entered it?"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Papers:
    """Limits as entered: least clearance of the propeller's tips from the ground [m], most noise [dB].

    None where nothing was entered: nothing is held against it then.
    """

    tip_clearance: float | None = None
    noise: float | None = None
