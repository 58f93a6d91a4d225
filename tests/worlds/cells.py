"""Which campaigns are flown in the worlds? One cell a condition that a pilot may meet."""

from __future__ import annotations

from tests.worlds.campaigns import Cell

PULL, ROLL, CLIMB, LEVEL = "static_pull", "takeoff_roll", "timed_climb", "level_speed"
#: Blocks over two days, turned round; days that each return; a return on one day; runs in turn; one swap. Neither the
#: two days of blocks nor the three days go back to where they began, so a ceiling of drift takes part in them.
TURNED, RETURNS, RETURN = "AAABBB|BBBAAA", "AABBAA|BBAABB", "AAABBBAAABBB"
LONG, TURNS, SWAP = "AAAABBBB|BBBBAAAA", "ABBABAAB", "AAABBB"
FOUR_DAYS, THREE_DAYS = "ABBA|BAAB|ABBA|BAAB", "AABB|BBAA|AABB"


def _unlike(name: str, says: str, measure: str, **given) -> tuple[Cell, ...]:
    """The same unlike conditions in three orders."""
    return tuple(
        Cell(f"{name}, {how}", says, measure, letters, fitted_anew, honest=False, **given)
        for how, letters, fitted_anew in (("two days", TURNED, True), ("return", RETURN, True), ("turns", TURNS, False))
    )


def _alike(measure: str) -> tuple[Cell, ...]:
    says = "the same conditions for both; readings, fittings and drift as stated"
    return tuple(
        Cell(f"alike, {how}", says, measure, letters, fitted_anew, entered=entered, honest=letters != THREE_DAYS)
        for how, letters, fitted_anew, entered in (
            ("turns", TURNS, False, False),
            ("return", RETURN, True, True),
            ("days that return", RETURNS, True, True),
            ("three days", THREE_DAYS, True, True),
            ("four days", FOUR_DAYS, False, False),
        )
    )


CELLS: tuple[Cell, ...] = (
    *(cell for measure in (PULL, ROLL, CLIMB, LEVEL) for cell in _alike(measure)),
    *_unlike("wind", "A stands in 7 kt, B in 3 kt", PULL, wind={"A": 7.0, "B": 3.0}),
    *_unlike("heights", "A climbs from 1,000 ft, B from 2,500 ft", CLIMB, height={"A": 1500.0, "B": 3000.0}),
    *(
        cell
        for measure in (CLIMB, ROLL, PULL, LEVEL)
        for cell in _unlike("warmth", "B flies 15 K warmer than A", measure, warmer={"B": 15.0})
    ),
    *_unlike("levels", "A flies level at 2,000 ft, B at 4,000 ft", LEVEL, height={"A": 2000.0, "B": 4000.0}),
    *_unlike("wind", "A rolls in 7 kt, B in 3 kt", ROLL, wind={"A": 7.0, "B": 3.0}),
    *(
        Cell(
            f"day to day, {how}", "the difference changes by 3 % from day to day", measure, letters, fitted_anew,
            changing=0.03, honest=False, entered=how == "three days",
        )
        for measure in (ROLL, CLIMB)
        for how, letters, fitted_anew in (("three days", THREE_DAYS, True), ("four days", FOUR_DAYS, False))
    ),
    *(
        Cell(
            f"drift beyond, {how}", "each day has a drift of its own, three times as large as stated", measure, letters,
            fitted_anew, slopes=3.0, honest=False, entered=how in ("return", "three days"),
        )
        for measure in (ROLL, CLIMB)
        for how, letters, fitted_anew in (
            ("turns", TURNS, False), ("return", RETURN, True), ("three days", THREE_DAYS, True),
            ("four days", FOUR_DAYS, False),
        )
    ),
    *(
        Cell("two-day swap", "each day has a drift of its own, as stated", measure, LONG, entered=True, honest=False)
        for measure in (ROLL, CLIMB, PULL)
    ),
    *(
        Cell(
            "two-day swap, drift beyond", "each day has a drift of its own, three times as large as stated", measure,
            LONG, slopes=3.0, honest=False, entered=True,
        )
        for measure in (ROLL, CLIMB)
    ),
    *(
        Cell(
            "days that return, drift beyond", "each day has a drift of its own, three times as large as stated",
            measure, RETURNS, slopes=3.0, honest=False, entered=True,
        )
        for measure in (ROLL, CLIMB)
    ),
    *(
        Cell("single swap", "drift as stated", measure, SWAP, entered=True, honest=False)
        for measure in (ROLL, CLIMB, PULL)
    ),
    Cell(
        "single swap, freshening", "the wind freshens by 1.5 kt an hour and the column stays", ROLL, SWAP,
        freshening=1.5, honest=False, entered=True,
    ),
    Cell(
        "two-day swap, freshening", "each day the wind freshens by 1.5 kt an hour and the column stays", ROLL, LONG,
        freshening=1.5, honest=False, entered=True,
    ),
    *(
        Cell(
            f"readings x {factor:g}, {how}", f"errors of reading {factor:g} times as large as stated", measure,
            letters, fitted_anew, readings=factor, honest=False, entered=fitted_anew,
        )
        for factor in (0.5, 2.0)
        for measure in (PULL, ROLL, CLIMB)
        for how, letters, fitted_anew in (("turns", TURNS, False), ("return", RETURN, True))
    ),
    *(
        Cell(
            "another propeller, turns", "B has 2 % more diameter and 4 % less pitch", measure, TURNS, False,
            better=0.02, warmer={"B": 3.0}, wind={"A": 5.0, "B": 3.0}, honest=False,
        )
        for measure in (PULL, ROLL, CLIMB)
    ),
    *(
        Cell(
            "day to day, four days, days alike",
            f"the difference changes by {100 * changing:g} % from day to day, the level does not", measure, FOUR_DAYS,
            False, changing=changing, levels=0.0, honest=False,
        )
        for measure, changing in ((ROLL, 0.08), (CLIMB, 0.05))
    ),
    *(
        Cell(
            f"fittings x 6, {how}", "fittings differ six times as far as usual, and it is entered so", measure, letters,
            fittings=6.0, honest=False, entered=True,
        )
        for measure in (ROLL, CLIMB)
        for how, letters in (("return", RETURN), ("days that return", RETURNS))
    ),
)  # fmt: skip
