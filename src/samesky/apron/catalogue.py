"""What does this room say is wrong or doubtful, and how is it mended? Each sentence with its stable code.

What stands in braces is filled in by whoever says it. Wording may be changed here freely: nothing hangs on it.
"""

from samesky.campaign.messages.sentences import Sentence

APRON_PRESSURE_GIVEN_TWICE = Sentence(
    "apron.pressure-given-twice",
    "stands beside an altimeter setting, which says the same.",
    "Give one of the two: the setting, or the reading with 1013.25 hPa set.",
)
APRON_NO_PRESSURE = Sentence(
    "apron.no-pressure",
    "nothing is written; expected an altimeter setting, or the altimeter's reading with 1013.25 hPa set.",
    "Set the altimeter to the elevation of the strip and read the setting.",
)
APRON_ELEVATION_UNKNOWN = Sentence(
    "apron.elevation-unknown",
    "with an altimeter setting, {which} has to be known.",
    "Name the runway, enter its elevation under Question, or read the pressure altitude instead.",
)
APRON_DEW_POINT_ABOVE_OAT = Sentence(
    "apron.dew-point-above-oat",
    "found {shown}, which is above the temperature of the air ({shown2}).",
    "Check both: air cannot hold more moisture than at its dew point.",
)
APRON_NO_SUCH_CONFIGURATION = Sentence(
    "apron.no-such-configuration", "found {key}, which is no configuration of this campaign.", "{hint}"
)
APRON_NOT_A_NUMBER = Sentence("apron.not-a-number", "{found}, expected {bounds}.", "Read it and write it down.")
APRON_OUT_OF_BOUNDS = Sentence(
    "apron.out-of-bounds", "found {found}, expected {bounds}.", "Check the number and its unit."
)
APRON_NO_DIRECTION = Sentence(
    "apron.no-direction", "{what}", "Write 240 where it comes from, a range such as 210-270 (clockwise), or variable."
)
APRON_NO_SUCH_RUNWAY = Sentence("apron.no-such-runway", "found {name}, which is no runway of this campaign.", "{hint}")
APRON_EMPTY_WEIGHT_UNKNOWN = Sentence(
    "apron.empty-weight-unknown",
    "what the aeroplane weighs empty is not entered, so the weight is not known.",
    "Enter its empty weight under Question, from its weighing report.",
)
APRON_IMPOSSIBLE_WEIGHT = Sentence("apron.impossible-weight", "the aeroplane would weigh {mass}.", "Check every mass.")
APRON_NO_SUCH_STATION = Sentence(
    "apron.no-such-station", "found {name}, which is no station of this aeroplane.", "{hint}"
)
APRON_NO_WEIGHT_AIMED_AT = Sentence(
    "apron.no-weight-aimed-at",
    "no run with another configuration has its fuel written down, and no plan says the fuel of a morning.",
    "Give the weight to aim at, or the fuel of the first block.",
)
APRON_NO_SUCH_MEASURE = Sentence(
    "apron.no-such-measure", "found {measure}, which is no measure of this campaign.", "{hint}"
)
APRON_FUEL_BELOW_RESERVE = Sentence(
    "apron.fuel-below-reserve",
    "run {run}: {campaign} of fuel is below the reserve of the plan.",
    "Keep {campaign2} untouched: refuel before anything else is flown.",
)
APRON_NO_SUCH_COLUMN = Sentence("apron.no-such-column", "{name} is no column that {the_file} may have.", "{hint}")
APRON_AIRSPEEDS_DISAGREE = Sentence(
    "apron.airspeeds-disagree",
    "run {run}: {first} {shown} and {second} {shown2} differ by more than 5 %.",
    "Check the readings; speed gained or lost is height lent or borrowed, and is corrected roughly only.",
)
APRON_CORRECTION_BEYOND_RANGE = Sentence(
    "apron.correction-beyond-range",
    "run {text}: the {correction} correction {says}.",
    "Fly again in conditions nearer to the others', or let it stand with the doubt.",
)
APRON_CONFIGURATION_NEEDED = Sentence(
    "apron.configuration-needed",
    "nothing is written, and the configurations have airspeeds of their own.",
    "Say which one is flown next.",
)
APRON_NO_PRIMARY = Sentence(
    "apron.no-primary", "no measure decides.", "Say primary = true in the [measure] that decides."
)
APRON_NO_OTHER_CONFIGURATION = Sentence(
    "apron.no-other-configuration", "found {other!r}, expected one beside the baseline.", "One of {keys}."
)
APRON_RUNWAY_NEEDED = Sentence(
    "apron.runway-needed", "the campaign has several.", "Name the one that you fly from, in the direction of the run."
)
APRON_GUST_BELOW_WIND = Sentence(
    "apron.gust-below-wind",
    "found {found}, which is below the mean wind of {mean}.",
    "The gust is the strongest wind: turn the two round, or leave it blank.",
)
APRON_UNREADABLE = Sentence("apron.unreadable", "found {found}, expected a number in {unit}.", "{mend}")
