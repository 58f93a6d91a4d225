"""Which level legs belong to one run, where a flight holds several runs?

Legs follow each other at one height; between two runs the aeroplane climbs, descends, or takes its time, or the round
of its tracks begins anew. Thresholds are assumed and said; what they leave open is asked back, never guessed.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from samesky.air.legs import spread
from samesky.instruments.tracks.segments.segments import Found, Segment

#: Heights [m] within which legs are of one set, and longest pause [s] between one leg and the next of it.
ALTITUDE_BAND, LONGEST_PAUSE = 60.0, 240.0
#: Two legs are flown on reciprocal tracks within this [rad]; three and more are spread at least this much (assumed;
#: as for level speed from legs).
RECIPROCAL, LEAST_SPREAD = np.radians(10.0), 0.1
#: Tracks within this [rad] are one and the same leg flown again (assumed).
AGAIN = np.radians(15.0)
#: The most legs that a run can have.
MOST_LEGS = 8


def leg_sets(legs: Sequence[Segment], band: float = ALTITUDE_BAND, pause: float = LONGEST_PAUSE) -> list[list[Segment]]:
    """Legs in order of time, cut into sets wherever height or pause say that something else began."""
    sets: list[list[Segment]] = []
    for leg in legs:
        if sets and leg.start - sets[-1][-1].end <= pause and _one_height([*sets[-1], leg], band):
            sets[-1].append(leg)
        else:
            sets.append([leg])
    return sets


def _rounds(legs: list[Segment], wanted: int | None) -> list[list[Segment]]:
    """The same legs as rounds: as many as one another, each on the tracks of the first in its order or the reverse.

    A round is ``wanted`` legs, or, where None, the fewest that give an airspeed. As one set where there are no rounds.
    """
    track = np.array([leg.values["track"].value for leg in legs])
    for each in [wanted] if wanted else range(2, len(legs) // 2 + 1):
        if each < 2 or len(legs) % each or len(legs) == each:
            continue
        pieces = [legs[k : k + each] for k in range(0, len(legs), each)]
        first = track[:each]
        alike = [
            min(_apart(track[k : k + each], first), _apart(track[k : k + each], first[::-1])) <= AGAIN
            for k in range(0, len(legs), each)
        ]
        if all(alike) and not any(why_not(piece) for piece in pieces):
            return pieces
    return [legs]


def _apart(one: np.ndarray, other: np.ndarray) -> float:
    return float(np.max(np.abs((one - other + np.pi) % (2 * np.pi) - np.pi)))


def _one_height(legs: Sequence[Segment], band: float) -> bool:
    heights = [leg.values["altitude"].value for leg in legs if "altitude" in leg.values]
    return not heights or max(heights) - min(heights) <= band


def why_not(legs: Sequence[Segment]) -> str:
    """Why these legs cannot give an airspeed; blank where they can."""
    track = np.array([leg.values["track"].value for leg in legs])
    if len(legs) < 2:
        return "one leg alone cannot tell airspeed from wind"
    if len(legs) > MOST_LEGS:
        return f"{len(legs)} legs in a row, and a run has {MOST_LEGS} at most"
    if len(legs) == 2:
        apart = abs((track[1] - track[0] + np.pi) % (2 * np.pi) - np.pi)
        if np.pi - apart > RECIPROCAL:
            return f"two legs {np.degrees(apart):.0f} deg apart: two have to be on reciprocal tracks"
    elif spread(track) < LEAST_SPREAD:
        return "the tracks are too close together to tell airspeed from wind"
    return ""


def choose_sets(found: Found, expected: int, legs: int | None = None) -> tuple[list[list[Segment]], str]:
    """The sets of a flight with ``expected`` runs of ``legs`` legs each (None: as many as there are, all alike).

    Returns the sets in order of time and a sentence; no sets where the track does not say which are meant, and then
    the sentence says what the pilot has to decide. Single legs, on the way to somewhere, are no set and are named; so
    are stretches that are no legs.
    """
    unfit = [leg for leg in found.candidates if not leg.values]
    sets = leg_sets([leg for leg in found.candidates if leg.values])
    rounds = [piece for one in sets for piece in _rounds(one, legs)]
    again = len(rounds) > len(sets) and (legs is None or any(len(one) != legs for one in sets))
    if again and len([one for one in sets if len(one) > 1]) == expected and legs is None:
        longest = max(sets, key=len)
        count, piece = len(longest), len(_rounds(longest, None)[0])
        return [], (
            f"{count} level legs in a row, whose tracks begin anew after {piece}: {count // piece} sets of {piece}, or "
            f"one of {count}; say how many runs, or how many legs each"
        )
    sets = rounds if again else sets
    single = [one for one in sets if len(one) == 1]
    sets = [one for one in sets if len(one) > 1]
    said = f"{len(sets)} set{'s' * (len(sets) != 1)} of level legs found"
    said += f" ({', '.join(str(len(one)) for one in sets)} legs)" if sets else ""
    alone = f"; {len(single)} single leg{'s go' if len(single) > 1 else ' goes'} with none" if single else ""
    alone += f"; {len(unfit)} left aside, such as one where {unfit[0].notes[0]}" if unfit else ""
    if len(sets) != expected:
        return [], f"{said}, {expected} expected: give the times between which to look{alone}"
    wanted = legs if legs is not None else len(sets[0])
    if any(len(one) != wanted for one in sets):
        need = f"{legs} legs each expected" if legs is not None else "not the same number each: say how many legs"
        return [], f"{said}; {need}, and give the times between which to look{alone}"
    for number, one in enumerate(sets, start=1):
        reason = why_not(one)
        if reason:
            return [], f"{said}; set {number}: {reason}"
    return sets, f"{said}, as expected{alone}"
