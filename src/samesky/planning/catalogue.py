"""What does this room say is wrong or doubtful, and how is it mended? Each sentence with its stable code.

What stands in braces is filled in by whoever says it. Wording may be changed here freely: nothing hangs on it.
"""

from samesky.campaign.messages.sentences import Sentence

CARDS_PAPER = Sentence("cards.paper", "there are no cards on {paper!r}.", "Choose {papers}.")
CARDS_NO_LIBRARY = Sentence(
    "cards.no-library",
    "the PDF needs the library reportlab, which is not installed.",
    "Install it with pip install 'samesky[cards]', or print the HTML cards.",
)
TABLES_DAYS_GONE = Sentence(
    "tables.days-gone",
    "is {first}, and runs were flown until {flown}: the rows would stand among days gone.",
    "Go on with the rows that are planned already, or give the plan a later first date, or none.",
)
TABLES_DAYS_NOT_TOLD_APART = Sentence(
    "tables.days-not-told-apart",
    "has no column 'date', so that the days of the plan could not be told apart.",
    "Add the column, or plan one day.",
)
TABLES_TOO_MANY_ROWS = Sentence(
    "tables.too-many-rows", "would have {count} rows, at most {most_rows} are read.", "Plan fewer runs."
)
TABLES_TYPED_BY_HAND = Sentence(
    "tables.typed-by-hand",
    "the row is planned and not flown yet, and {cell!r} was typed into it by hand.",
    "Fly it, say under 'exclude' why not, or delete the row; then put the plan in.",
)
PLAN_TOO_SHORT = Sentence(
    "plan.too-short",
    "nothing can be flown: {why}, and the shortest comparison takes {hours:.1f} h.",
    "Plan longer days, a shorter swap, or fewer measures.",
)
PLAN_NOTHING_FLOWN = Sentence(
    "plan.nothing-flown", "nothing can be flown: {other_reason}.", "Take on more fuel, fewer runs or shorter ones."
)
PLAN_MORE_LOOKS_THAN_BLOCKS = Sentence(
    "plan.more-looks-than-blocks",
    "{count} looks are planned, but there are {count2} blocks to look after.",
    "Plan one look a block at most.",
)
PLAN_LOOK_BEYOND_RUNS = Sentence(
    "plan.look-beyond-runs",
    "look {count} comes after run {stated}, but {flown} runs of the {title} are planned.",
    "Before the first flight: take out looks_after_runs, and take it anew from the plan. After it, leave it.",
)
PLAN_READING_MISSING = Sentence(
    "plan.reading-missing", "what you expect to read as {the_column!r} is missing.", '{why} {the_column2} = "… {asked}"'
)
PLAN_NONE = Sentence(
    "plan.none",
    "there is no table [plan].",
    "Say in it how many days and hours there are, with which fuel; `samesky new` writes one to fill in.",
)
PLAN_SWAP_TIME_MISSING = Sentence(
    "plan.swap-time-missing", "how long a swap takes is missing.", 'For example: time = "45 min"'
)
PLAN_NO_DAYLIGHT = Sentence(
    "plan.no-daylight",
    "there is no daylight to fly in: the end ({end}) is not after the start ({start}).",
    "Plan each day within one day's light, on the 24-hour clock.",
)
PLAN_FUEL_ABOVE_LIMIT = Sentence(
    "plan.fuel-above-limit",
    "the fuel of the morning ({fuel}) is above the campaign's own limit ({high}).",
    "Take on less, or change [limits] fuel before flying.",
)
PLAN_NO_FUEL = Sentence(
    "plan.no-fuel",
    "there is no fuel to fly with: {fuel} on board, of which {lowest} must stay.",
    "Plan to take on more; the reserve is not for testing.",
)
PLAN_NOTHING_BURNT = Sentence("plan.nothing-burnt", "nothing is burnt in an hour.", 'For example: burn = "18 L/h"')
PLAN_SEVERAL_CONFIGURATIONS = Sentence(
    "plan.several-configurations",
    "there are {count} configurations beside {baseline}.",
    "Plan two at a time: say --other {key} (or {key2}).",
)
PLAN_NO_SUCH_CONFIGURATION = Sentence(
    "plan.no-such-configuration", "{other!r} is no configuration beside {baseline}.", "One of {keys}."
)
PLAN_PRIMARY_NOT_PLANNED = Sentence(
    "plan.primary-not-planned",
    "the deciding measure {primary} is not planned.",
    "Add [plan.{primary}] with the time that one run takes and what you expect to read.",
)
PLAN_RUN_TIME_MISSING = Sentence(
    "plan.run-time-missing", "how long one run takes is missing.", 'From one start to the next: time = "8 min"'
)
PLAN_NO_RESULT = Sentence(
    "plan.no-result", "the readings that you expect give no result.", "Say more of what you expect: {names}."
)
PLAN_HOURS_MISSING = Sentence(
    "plan.hours-missing", "{name} is missing.", 'Between which hours can you fly? {name} = "07:00"'
)
PLAN_ENTRY_MISSING = Sentence("plan.entry-missing", "{name} is missing.", 'For example: {name} = "{sample}"')
PLAN_TOO_HEAVY = Sentence(
    "plan.too-heavy",
    ("with {fuel} of fuel and configuration {key} the aeroplane weighs {mass}, more than its maximum of {max_mass}."),
    "Take on {mass2} less, or leave something at home.",
)
PLAN_LIMIT_CONTRADICTED = Sentence(
    "plan.limit-contradicted",
    (
        "what is expected of {name!r} is {word} its limit from the first hour to the last: the two contradict"
        " each other."
    ),
    "Wait for another day or runway, or put right what is expected; a limit is not moved for a test.",
)
