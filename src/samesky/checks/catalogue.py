"""What does this room say is wrong or doubtful, and how is it mended? Each sentence with its stable code.

What stands in braces is filled in by whoever says it. Wording may be changed here freely: nothing hangs on it.
"""

from samesky.campaign.messages.sentences import Sentence

AIRSPEED_EXTRAPOLATED = Sentence(
    "airspeed.extrapolated",
    (
        "{named}: {name} of {shown} {unit} is outside the {speed_range} at which the position error was "
        "found; its correction is extrapolated."
    ),
    (
        "Fly position-error runs nearer to it if the papers allow; never nearer to the stall, or to a limit, "
        "than you would fly anyway."
    ),
)
PULL_MORE_THAN_IDEAL = Sentence(
    "pull.more-than-ideal",
    "{says}: more pull than an ideal propeller of this diameter could make of full power ({most}).",
    ("Check the scale and its unit, the diameter and the power: real propellers give about half to three quarters."),
)
MEASURE_SMALLEST_IS_ALL = Sentence(
    "measure.smallest-is-all",
    "found '{smallest_text}', while the {result} itself is as little as {least}.",
    'Check the unit; a difference that matters is a part of it, such as "5 %".',
)
WEIGHT_NOT_BELIEVABLE = Sentence(
    "weight.not-believable",
    "{says}: the aeroplane would weigh {weight:.1f} kg, which nothing does.",
    "Correct the weights of the configurations, of the stations, or the empty weight in campaign.toml.",
)
BALANCE_OUTSIDE_ENVELOPE = Sentence(
    "balance.outside-envelope",
    "{says}: centre of gravity at {balance} m, outside {low:.3f} to {high:.3f} m aft of the datum.",
    "Check stations and arms in [aeroplane]; do not fly so: the approved envelope decides.",
)
LIMIT_EXCEEDED = Sentence(
    "limit.exceeded",
    "{says}: {name} {word} the campaign's own limit of {limit} (furthest {furthest}).",
    "Fly again, or leave out with the reason in the column 'exclude': the limit was fixed before flying.",
)
RPM_OUTSIDE_STATIC_RANGE = Sentence(
    "rpm.outside-static-range",
    "{says}: static engine speed outside {low:.0f} to {high:.0f} rpm.",
    "Check throttle, mixture and pitch setting: the aeroplane's papers say what the range is for.",
)
WEIGHT_ABOVE_MAXIMUM = Sentence(
    "weight.above-maximum",
    "{says}: the aeroplane weighs up to {weight:.1f} kg, more than its maximum of {max_mass:.1f} kg.",
    "Correct fuel, stations or empty weight. If it was flown so, the papers and licensed people come first.",
)
RESULT_NOT_COMPUTED = Sentence(
    "result.not-computed",
    "the readings cannot be brought to the common sky: {error}.",
    "Look for the reading that it names, and for its unit.",
)
RESULT_NONE = Sentence(
    "result.none",
    "{says}: the readings give no {result} (at the step {name!r}).",
    "Look for a reading, or a sign, that contradicts the others; or leave the run out with its reason.",
)
AIRSPEED_OF_CONFIGURATION = Sentence(
    "airspeed.of-configuration",
    "{key} has another {name} than {baseline} ({apart}).",
    (
        "All runs are brought to one airspeed, which takes its effect out. If the change itself is meant to "
        "be flown so, give each [configuration] its own {what}."
    ),
)
FUEL_RISES = Sentence(
    "fuel.rises",
    "fuel rises from run {name}{place} to run {name2}: refuelled?",
    "If so, say 'refuelled' in its notes; if not, correct the reading.",
)
FUEL_STANDS_STILL = Sentence(
    "fuel.stands-still",
    "fuel has not gone down over {still} runs, up to run {name}.",
    "Read it anew before each run, or say 'refuelled' in the notes: the weight follows from it.",
)
ORDER_ALL_LEFT_OUT = Sentence(
    "order.all-left-out", "every run is left out, so nothing can be compared.", "Fly again, or delete the file."
)
ORDER_OTHER_STILL_PLANNED = Sentence(
    "order.other-still-planned",
    "flown with {flown} so far; {ahead} is planned and still to come.",
    "Until then there is nothing to compare.",
)
ORDER_ONE_CONFIGURATION = Sentence(
    "order.one-configuration",
    "{runs} of configuration {key}: there is nothing to compare it with.",
    "Fly {others} too, or move the file out of this folder.",
)
ORDER_NO_BASELINE = Sentence(
    "order.no-baseline",
    "no run that counts is of the baseline {baseline}.",
    "Fly it too, or name another baseline at the top of campaign.toml.",
)
ORDER_CONFIGURATION_NOT_FLOWN = Sentence(
    "order.configuration-not-flown", "there is no run of {absent}.", "This measure says nothing of it."
)
ORDER_ONE_RUN = Sentence(
    "order.one-run", "there is one run only of {single}: its scatter cannot be seen.", "Fly three or more of each."
)
ORDER_UNEQUAL = Sentence(
    "order.unequal",
    "the effort is unequal: {shares} that count.",
    "The same number of each says most for the same fuel.",
)
CLOCK_SHORTER_THAN_SWAP = Sentence(
    "clock.shorter-than-swap",
    (
        "run {text} ({configuration}) begins {gap:.0f} min after run {text2} of {the_file} "
        "({configuration2}), while a swap takes {swap_hours:.0f} min."
    ),
    "Check clock and configuration of both, or the time in [swap].",
)
SLIP_RESULT_APART = Sentence(
    "slip.result-apart",
    "{found} comes to {value} on the same sky; the other runs{of} come to {come}.",
    (
        "Check this reading and the others of its row. Correct it if it was written down wrong. If it was "
        "read so, keep it and say in 'notes' what was special: the run counts as it stands."
    ),
)
SLIP_ROLL_AND_POWER = Sentence(
    "slip.roll-and-power",
    (
        "rolls of {shown} to a lift-off at {shown2} are too {long} for the engine's power: {share:.0f} % of "
        "the acceleration that an ideal propeller would give; expected 25 to 60 %."
    ),
    "{what}",
)
SLIP_POWER_SHOWN = Sentence(
    "slip.power-shown", "{what}{what2}, {says}.", "{unit_mend} The engine's power stands in [engine]."
)
SLIP_RATIO = Sentence(
    "slip.ratio",
    "found {shown}, while {title}{its_column} {shown2}: expected {least:g} to {most:g} times that.",
    "{what}",
)
SLIP_FUEL_USE = Sentence(
    "slip.fuel-use",
    "found {fuel_shown}, after {fuel_shown2} in the run before: {drop:.0f} times the usual use of fuel.",
    (
        "Correct it if it was written down wrong. If it was read so, keep it and say in 'notes' what was "
        "special: the run counts as it stands."
    ),
)
SLIP_READING_APART = Sentence(
    "slip.reading-apart",
    "found {shown}; {whose} have {shown2}.",
    (
        "Correct it if it was written down wrong. If it was read so, keep it and say in 'notes' what was "
        "special: the run counts as it stands."
    ),
)
SLIP_AIR_APART = Sentence(
    "slip.air-apart",
    "{shown} is {gap:.0f} degC {what} the air in the other tables at the same hours, the height allowed for.",
    ("Check the unit in the header, and the readings. If both are right, keep them: the runs count as they stand."),
)
SLIP_BAND_UNITS = Sentence(
    "slip.band-units",
    "found from [{end}] and to [{end2}], the two ends of one band.",
    ("Check the unit in the header, and the readings. If both are right, keep them: the runs count as they stand."),
)
SLIP_DAY_ALONE = Sentence(
    "slip.day-alone",
    "found {cell}: run {text} is the only one of its day, and its clock carries on from the day before.",
    (
        "Correct it if it was written down wrong. If it was read so, keep it and say in 'notes' what was "
        "special: the run counts as it stands."
    ),
)
SLIP_UNITS_DIFFER = Sentence(
    "slip.units-differ",
    "found {name} [{unit}], while {the_file} has {usual} [{usual2}].",
    ("Check the unit in the header, and the readings. If both are right, keep them: the runs count as they stand."),
)
SLIP_CLOCK_ALONE = Sentence(
    "slip.clock-alone",
    "found {cell}, {gap:.0f} h away from all other runs of its day.",
    (
        "Correct it if it was written down wrong. If it was read so, keep it and say in 'notes' what was "
        "special: the run counts as it stands."
    ),
)
ALIKE_BOTH = Sentence(
    "alike.both",
    (
        "{first} and {other} were not flown alike: {apart}. Only the correction for {corrected} tells that "
        "from the configuration. Nothing corrects for {uncorrected}: what that does counts as difference."
    ),
    (
        "Match it next time: the same heights and airspeeds, the same fuel or ballast at the start of each "
        "block, and a return to the first."
    ),
)
ALIKE_CORRECTED = Sentence(
    "alike.corrected",
    (
        "{first} and {other} were not flown alike: {apart}. Only the correction for {corrected} tells that "
        "from the configuration."
    ),
    (
        "Match it next time: the same heights and airspeeds, the same fuel or ballast at the start of each "
        "block, and a return to the first."
    ),
)
ALIKE_UNCORRECTED = Sentence(
    "alike.uncorrected",
    (
        "{first} and {other} were not flown alike: {apart}. Nothing corrects for {uncorrected}: what that "
        "does counts as difference."
    ),
    (
        "Match it next time: the same heights and airspeeds, the same fuel or ballast at the start of each "
        "block, and a return to the first."
    ),
)
RPM_ABOVE_LIMIT = Sentence(
    "rpm.above-limit",
    "{says}: engine speed above the limit of {limit} (highest {worst}).",
    "An over-speed is looked into by the engine's papers and licensed people before the next flight.",
)
ORDER_ONE_A_DAY = Sentence(
    "order.one-a-day",
    "no day has two configurations: the day and the configuration cannot be told apart.",
    "Return to the first one before the day ends ({first}, {second}, {first}).",
)
ORDER_ONE_A_DAY_WHERE_FREE = Sentence(
    "order.one-a-day-where-free",
    "no day has two configurations: the day and the configuration cannot be told apart.",
    "Changing is free: alternate {first} {second} {second} {first}, so that drift falls on both alike.",
)
ORDER_NO_RETURN = Sentence(
    "order.no-return",
    "flown {order}: a drift of the air or the pilot cannot be told apart from the configuration.",
    "Return to the first one before the day ends ({first}, {second}, {first}).",
)
ORDER_NO_RETURN_WHERE_FREE = Sentence(
    "order.no-return-where-free",
    "flown {order}: a drift of the air or the pilot cannot be told apart from the configuration.",
    "Changing is free: alternate {first} {second} {second} {first}, so that drift falls on both alike.",
)
