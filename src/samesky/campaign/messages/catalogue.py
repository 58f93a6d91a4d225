"""What does this room say is wrong or doubtful, and how is it mended? Each sentence with its stable code.

What stands in braces is filled in by whoever says it. Wording may be changed here freely: nothing hangs on it.
"""

from samesky.campaign.messages.sentences import Sentence

ENTRY_NOT_CHANGED_HERE = Sentence(
    "entry.not-changed-here",
    "cannot be changed here: the file is written in a way of its own.",
    "Change it in a text editor.",
)
ENTRY_THERE_ALREADY = Sentence("entry.there-already", "is there already.", "Choose another name.")
ENTRY_TOP_STAYS = Sentence(
    "entry.top-stays", "the entries before the first table cannot be taken out in one.", "Empty them one by one."
)
ENTRY_NOT_RENAMED = Sentence("entry.not-renamed", "is no table that can be renamed.", "Name one that is there.")
ENTRY_NAME_NOT_PLAIN = Sentence(
    "entry.name-not-plain",
    "found {part}, expected a name of letters, digits, _ - and spaces.",
    "Choose a plain word of at most {longest_name} signs.",
)
ENTRY_NO_TABLE = Sentence("entry.no-table", "is no table.", "Begin it with a line [{name}].")
INSTALLATION_GOES_BACK = Sentence(
    "installation.goes-back",
    "fitting {number} comes after {number2} (by date and clock, over all files).",
    "Correct the number or the clock: fittings count up as they are fitted on.",
)
INSTALLATION_TWO_CONFIGURATIONS = Sentence(
    "installation.two-configurations",
    "fitting {number} has configuration {belong} before and {key} here.",
    "Count up each time a configuration is fitted.",
)
INSTALLATION_MISSING_IN_FILE = Sentence(
    "installation.missing-in-file",
    "the column is missing, while {has} {verb} it.",
    "Give it in every file or in none: one fitting serves all measures.",
)
FOLDER_NOT_LISTED = Sentence("folder.not-listed", "cannot be listed ({reason}).", "Check that you may open the folder.")
FILM_FRAME_NOT_WHOLE = Sentence(
    "film.frame-not-whole",
    "found '{value:.10g}', expected a whole number: a frame.",
    "Write the number of the frame in which it is seen first.",
)
FILM_NAME_TAKEN = Sentence(
    "film.name-taken",
    "the file {the_file} holds the frames of filmed rolls, and no measure.",
    "Give the measure and its file another name, or delete the table.",
)
FILM_NOT_TOLD = Sentence(
    "film.not-told",
    "there are filmed rolls; how they were filmed is not said.",
    "Give frame_rate, markers, marker_offset, camera and camera_distance.",
)
FILM_RUN_BLANK = Sentence(
    "film.run-blank", "the cell is blank, expected the run that this roll is.", "Write it as in its file."
)
FILM_LIFT_OFF_TOO_EARLY = Sentence(
    "film.lift-off-too-early",
    "found frame {lift:.0f}, expected one after {first!r} at frame {frame:.0f}.",
    "Look at both frames again; a roll that ends before the first marker needs one nearer to the start.",
)
FILM_MARKER_WITHOUT_PLACE = Sentence(
    "film.marker-without-place",
    "a passage is written at marker {k}, and [film] markers has {count} places.",
    "Add its place to markers in [film] of campaign.toml, or empty the cell.",
)
FILM_ACCELERATION_NOT_BELIEVABLE = Sentence(
    "film.acceleration-not-believable",
    "the passages show an acceleration of {shown:.1f} m/s2, which no roll has.",
    "Look at the three frames nearest to it again.",
)
FILM_RUN_TWICE = Sentence(
    "film.run-twice", "found {run}, which row {first} has already.", "Keep one row for each roll."
)
FILM_FRAMES_OUT_OF_ORDER = Sentence(
    "film.frames-out-of-order",
    "found frame {late:.0f}, expected one after {before!r} at frame {early:.0f}.",
    "A roll passes the markers in their order: look at both frames again.",
)
FILM_SPEED_NOT_BELIEVABLE = Sentence(
    "film.speed-not-believable",
    (
        "from marker {early} to marker {late} it took {taken:.3g} s, which is {speed:.3g} m/s; expected "
        "{speed2:g} to {speed3:g} m/s."
    ),
    "Check both frames; in [film] the frame rate and where the markers stand.",
)
DATE_YEAR_UNLIKELY = Sentence(
    "date.year-unlikely",
    "the date {day} is outside the years {first} to {last}.",
    "Correct the year, or pass over this if it is right.",
)
DATE_LONG_PAUSE = Sentence(
    "date.long-pause",
    "the date {now} comes {days:.0f} years after {before}, the one before it.",
    "Correct the year, or pass over this if it is right.",
)
POSITION_ERROR_SCATTER = Sentence(
    "position-error.scatter",
    "the points scatter {scatter:.1f} times as much as stated: uncertainty widened by that.",
    "Fly it in calmer air, or look for the run that stands out.",
)
POSITION_ERROR_NO_RUN_COUNTS = Sentence(
    "position-error.no-run-counts",
    "no run counts, so that indicated airspeeds are taken as calibrated.",
    "Fly them again, or delete the file.",
)
POSITION_ERROR_ALTITUDE_UNKNOWN = Sentence(
    "position-error.altitude-unknown",
    "the altitude of the runs is not known.",
    "Add altitude [ft] (with 1013.25 hPa set, or with a column qnh) or pressure altitude, for every run.",
)
POSITION_ERROR_FEW_AIRSPEEDS = Sentence(
    "position-error.few-airspeeds",
    "flown at fewer than {speeds_for_a_line} airspeeds, so that one correction is used at every airspeed.",
    "Fly it at three or more, from the slowest to the fastest of the runs.",
)
POSITION_ERROR_CALIBRATED_AIRSPEEDS = Sentence(
    "position-error.calibrated-airspeeds",
    "the airspeeds are in KCAS, which has the error taken out that this file is to find.",
    "Write what the indicator showed.",
)
POSITION_ERROR_NOT_FITTED = Sentence(
    "position-error.not-fitted", "{wrong}.", "Mend it, or write into 'exclude' why not."
)
POSITION_ERROR_FEW_LEGS = Sentence(
    "position-error.few-legs",
    "the run has {int} legs with speed and track, expected three or more.",
    "Fill in speed 1 and track 1 to speed 3 and track 3; or write into 'exclude' why it does not count.",
)
POSITION_ERROR_TRACKS_TOO_CLOSE = Sentence(
    "position-error.tracks-too-close",
    "the tracks are too close together to tell airspeed from wind.",
    "Spread the legs over 180 degrees or more, best 90 or 120 apart; or write into 'exclude' why not.",
)
FILE_NOT_ASKED = Sentence(
    "file.not-asked", "the file has runs, but campaign.toml has no [measure] table for it.", "{what}"
)
TEXTS_NO_CAMPAIGN = Sentence(
    "texts.no-campaign", "is no campaign: there is no campaign.toml in it.", "Add campaign.toml."
)
FOLDER_NOT_THERE = Sentence(
    "folder.not-there", "there is no such folder.", "Check the name, or write a new campaign: samesky new NAME"
)
FOLDER_IS_A_FILE = Sentence(
    "folder.is-a-file", "is a file, expected the folder of a campaign.", "Name the folder that holds campaign.toml."
)
FOLDER_NO_CAMPAIGN = Sentence(
    "folder.no-campaign",
    "is no campaign: there is no campaign.toml in it.",
    "Name another folder, or write a new campaign: samesky new NAME",
)
FILE_NOTHING_FLOWN = Sentence(
    "file.nothing-flown", "nothing flown yet: there is a header and no run.", "Fill it in, or delete it."
)
FILE_MISSING = Sentence("file.missing", "there is no file {name}.csv.", "Put its runs there, or delete the table.")
FILE_SAME_MEASURE = Sentence(
    "file.same-measure",
    "reads as the same measure as {before}.",
    "Put all runs into {before}, or move one of the two files out of the folder.",
)
POSITION_ERROR_NAME_TAKEN = Sentence(
    "position-error.name-taken",
    "the file {the_file} is that of the airspeed system's calibration, and no measure.",
    "Give the measure and its file another name, or delete the table.",
)
FOLDER_NOT_EMPTY = Sentence("folder.not-empty", "the folder is not empty.", "Name a new folder; nothing was changed.")
FOLDER_NOT_OPENED = Sentence("folder.not-opened", "cannot be opened ({reason}).", "Name a new folder.")
PLANNED_DATE_UNREADABLE = Sentence("planned.date-unreadable", "found {cell}, which {wrong}; expected a date.", "{mend}")
ENGINE_STATIC_RPM_TURNED_ROUND = Sentence(
    "engine.static-rpm-turned-round", "is above static rpm high.", "Turn them round."
)
LOADING_CG_LIMITS_TURNED_ROUND = Sentence(
    "loading.cg-limits-turned-round",
    "is behind the aft limit.",
    "Arms count backwards from the datum: turn the two round.",
)
CONFIGURATION_TOO_FEW = Sentence(
    "configuration.too-few",
    "{has} described, expected two or more to compare.",
    'Add a table for each, such as [configuration.B] with label = "finer pitch".',
)
CONFIGURATION_WEIGHT_MISSING = Sentence(
    "configuration.weight-missing",
    "has no weight, while [configuration.{given}] has one.",
    "Weigh the changed part of every configuration, or leave it out of all: equal weights are then assumed.",
)
BASELINE_UNKNOWN = Sentence("baseline.unknown", "found {name}, which is no configuration of this campaign.", "{hint}")
AIR_PRESSURE_GIVEN_TWICE = Sentence(
    "air.pressure-given-twice", "stands beside pressure altitude, which says the same.", "Keep one of the two."
)
DATE_UNREADABLE = Sentence("date.unreadable", "found {value}, which {wrong}.", "{mend}")
COEFFICIENT_NO_SUCH_MEASURE = Sentence(
    "coefficient.no-such-measure", "[coefficient.{key}] is about no measure with coefficients.", "{hint}"
)
CONFIGURATION_AIRSPEED_MISSING = Sentence(
    "configuration.airspeed-missing",
    "has no {name}, while [configuration.{given}] has one.",
    (
        "Give each configuration the airspeed that it is meant to be flown at, or leave it out of all: every "
        "run is then brought to one and the same airspeed."
    ),
)
MISSION_NO_WEIGHT = Sentence(
    "mission.no-weight", "gives every measure the weight 0.", "Give at least one of them a weight above 0."
)
MISSION_ASKS_NOTHING = Sentence(
    "mission.asks-nothing",
    "does not say what counts in this kind of flying.",
    "Write a weight for each measure that counts, or give it a name that is known: {known}.",
)
MISSION_SHARES = Sentence(
    "mission.shares",
    "the shares of the year of all kinds of flying come to {total:.0f} %.",
    "Let share_of_year of all [mission.X] together be 100 % or less.",
)
COEFFICIENT_UNKNOWN = Sentence("coefficient.unknown", "is no coefficient of {name}.", "{hint}")
CONFIGURATION_MISSPELT = Sentence("configuration.misspelt", "is no entry that is known here.", "Did you mean {near!r}?")
CONFIGURATION_ARM_MISSING = Sentence(
    "configuration.arm-missing",
    "has no arm, while the parts differ in weight.",
    'Write where the part sits, such as arm = "-0.9 m": far forward it moves the centre of gravity.',
)
CONFIGURATION_NOT_TEXT = Sentence(
    "configuration.not-text", "is a list or table, expected text or a number.", "Write it as text."
)
CONFIGURATION_UNKNOWN_DETAIL = Sentence(
    "configuration.unknown-detail",
    "is no entry that is known here: it is kept for the report and used nowhere.",
    "{what}",
)
CONFIGURATION_SETTING_MISSING = Sentence(
    "configuration.setting-missing",
    "is of {name} like another configuration, and has no pitch_setting.",
    'Write the number of each setting, such as pitch_setting = "16.5 deg": it puts them in order.',
)
CONFIGURATION_SETTING_NO_NUMBER = Sentence(
    "configuration.setting-no-number",
    "found {text}, expected a number first, because the propeller was flown at several settings.",
    'Write degrees, turns or marks, whatever you count, such as "16.5 deg at 75 % radius" or 3.',
)
CONFIGURATION_SETTING_TWICE = Sentence(
    "configuration.setting-twice",
    "found {text}, the same number as in [configuration.{other}], which is of the same propeller.",
    "Give one setting one configuration, or tell the two settings apart by their numbers.",
)
CONFIGURATION_SETTING_UNIT = Sentence(
    "configuration.setting-unit",
    "found {text}, which counts something else than [configuration.{other}] of the same propeller.",
    "Write both numbers in the same unit.",
)
DRIFT_NEGATIVE = Sentence("drift.negative", "found {text}, expected at least 0.", "Check the number and its unit.")
DRIFT_UNIT = Sentence("drift.unit", "found {text}: {error}.", "For example: {sample}, or in %{shown}.")
ERROR_SOURCE_TARGET = Sentence("error-source.target", "{what}", "{hint}")
ERROR_SOURCE_UNIT_OF_SEVERAL = Sentence(
    "error-source.unit-of-several",
    "is given in a unit for results of several dimensions.",
    'Name the measures it belongs to, such as measures = ["static_pull"], or write it in %.',
)
ERROR_SOURCE_NO_SIZE = Sentence(
    "error-source.no-size",
    "says nothing of how large the error is.",
    'Write standard_uncertainty, or tolerance for the largest error that you believe in, such as "0.5 %".',
)
ERROR_SOURCE_SIZE_GIVEN_TWICE = Sentence(
    "error-source.size-given-twice", "stands beside standard_uncertainty, which says the same.", "Keep one of the two."
)
ERROR_SOURCE_NO_SUCH_MEASURE = Sentence(
    "error-source.no-such-measure", "found {name}, which is no measure of this campaign.", "{hint}"
)
ERROR_SOURCE_DRIFT_TARGET = Sentence(
    "error-source.drift-target", "found {target!r} with the scope {scope!r}.", "A drift acts on the target 'result'."
)
FILM_CAMERA_TOO_NEAR = Sentence(
    "film.camera-too-near",
    "{distance:.4g} m is no more than the tolerances of markers, camera and line add up to.",
    "Stand further off or measure closer: else no angle is known.",
)
FILM_MARKERS_NO_LIST = Sentence(
    "film.markers-no-list",
    "found {found}, expected a list of 2 to {most_markers} places.",
    'For example: markers = ["90 m", "120 m", "150 m"]',
)
FILM_MARKER_BEHIND_CAMERA = Sentence(
    "film.marker-behind-camera",
    "puts the markers on the camera or behind it, which stands {distance:.4g} m from the wheel line.",
    "Beyond the wheel line is positive, on the camera's side negative.",
)
FILM_MARKER_TOO_FAR = Sentence(
    "film.marker-too-far",
    "found {text}, expected a place with its unit, within {furthest:g} m of the start line.",
    'For example: markers = ["90 m", "120 m", "150 m"]',
)
FILM_MARKERS_TOO_CLOSE = Sentence(
    "film.markers-too-close",
    "{this} and {next} {what}; expected each {closest:g} m or more after the last.",
    "Write them in the order in which a roll passes them, each measured from the start line.",
)
FILM_MARKER_UNIT = Sentence(
    "film.marker-unit", "found {text}: {error}.", 'For example: markers = ["90 m", "120 m", "150 m"]'
)
MEASURE_UNIT_OF_RESULT = Sentence(
    "measure.unit-of-result",
    "found {unit}, which is no unit of {dimension}, as {result} needs.",
    'For example: unit = "{unit2}"',
)
MEASURE_NOT_DESCRIBED = Sentence(
    "measure.not-described",
    "{name!r} is none of the measures with physics ({measures}), and as a free measure it lacks {missing}.",
    '{what}For a free measure write, for example: unit = "m/s" and better = "larger".',
)
MEASURE_UNIT_UNKNOWN = Sentence(
    "measure.unit-unknown",
    "found {unit}, which is no known unit.",
    'Write a unit such as "ft"; for marks or counts, "1".',
)
MEASURE_NO_THRUST = Sentence(
    "measure.no-thrust",
    "found {answer}, and {measure} does not measure thrust: no other measure tells it.",
    'Write answer_from = "own runs", or leave the entry out.',
)
MEASURE_SMALLEST_UNREADABLE = Sentence(
    "measure.smallest-unreadable",
    "found {value}, expected a share, or a difference with its unit.",
    "Fix before flying which difference would change what you do. {sample}",
)
MEASURE_SMALLEST_OUT_OF_BOUNDS = Sentence(
    "measure.smallest-out-of-bounds", "found {text}, expected a difference {bounds}.", 'For example: {smallest} = "5 %"'
)
MEASURE_NONE = Sentence(
    "measure.none", "no measure is asked for.", 'Add a table such as [measure.{first}] with {smallest} = "5 %".'
)
MEASURE_SEVERAL_PRIMARY = Sentence(
    "measure.several-primary",
    "{chosen} are all primary, expected one.",
    "Keep primary = true where the question is decided, and make the others false: one question, one answer.",
)
MEASURE_NO_PRIMARY = Sentence(
    "measure.no-primary",
    "no measure is primary, expected one of {primary_of}.",
    "Write primary = true in the table of the measure that decides the question.",
)
PLAN_NO_SUCH_RUNWAY = Sentence("plan.no-such-runway", "found {name}, which is no runway of this campaign.", "{what}")
PLAN_SCATTER = Sentence("plan.scatter", "found {value}, expected a standard deviation above zero.", "Such as 4 %.")
RECORD_NOT_THERE = Sentence(
    "record.not-there",
    "found {name}, expected a record of repeats: a file beside campaign.toml whose name ends in {ending}. {there}",
    "Copy the file that `samesky record` wrote into this folder, and write its name.",
)
RECORD_INCOMPLETE = Sentence(
    "record.incomplete",
    "is missing: a record says how far repeats scatter and how well that is known.",
    'Write both, as `samesky record` does: scatter = "2.1 %" and degrees_of_freedom = 12.',
)
PLAN_NOT_WHOLE = Sentence("plan.not-whole", "found {value:g}, expected a whole number.", "Write it without a fraction.")
PLAN_LOOKS_UNREADABLE = Sentence(
    "plan.looks-unreadable",
    "found {value}, expected whole numbers in brackets.",
    "The runs flown at each look, rising: looks_after_runs = [10, 20]",
)
PLAN_NO_SHARE = Sentence(
    "plan.no-share", "found {value:g}, expected a share between 0 and 100 %.", "Such as {default:g} %."
)
PLAN_FORECAST_NO_VALUE = Sentence(
    "plan.forecast-no-value",
    "found {value}, expected one value with its unit, or two.",
    'For example: {name} = ["…", "…"], at the start and at the end of the hours to fly in.',
)
PLAN_FORECAST_NOT_BELIEVABLE = Sentence(
    "plan.forecast-not-believable", "found {value}, which is hard to believe.", "Check the numbers and their units."
)
PLAN_LOOKS_NOT_RISING = Sentence(
    "plan.looks-not-rising",
    "found {value}, expected 1 to {most_looks} numbers that rise.",
    "The runs flown at each look, rising: looks_after_runs = [10, 20]",
)
PLAN_DATE_UNREADABLE = Sentence("plan.date-unreadable", "found {text}, which {wrong}.", "{mend}")
PLAN_FORECAST_UNIT = Sentence(
    "plan.forecast-unit",
    "found {value}: {error}.",
    'For example: {name} = ["…", "…"], at the start and at the end of the hours to fly in.',
)
PLAN_LOOKS_COUNT = Sentence(
    "plan.looks-count", "found {count}, but looks = {looks}.", "Give as many numbers as there are looks."
)
NUMBER_IS_TEXT = Sentence(
    "number.is-text",
    "is text where a number belongs",
    "Write a number, or leave the cell blank if there is no reading.",
)
NUMBER_UNCLEAR_DATE = Sentence(
    "number.unclear-date",
    "is no date that reads in one way only",
    "Write year-month-day, such as 2025-06-14; with slashes some put the day first and some the month.",
)
NUMBER_TOO_LONG = Sentence(
    "number.too-long", "has {count} signs, more than any reading", "Write one number, as it was read."
)
NUMBER_BEYOND_MEASURE = Sentence("number.beyond-measure", "is beyond all measure", "Write the number that was read.")
NUMBER_NO_READING = Sentence("number.no-reading", "is no number", "Leave the cell blank where there is no reading.")
NUMBER_UNCLEAR_COMMA = Sentence(
    "number.unclear-comma", "may mark thousands or decimals with its comma", "Write {what} or {what2}."
)
NUMBER_DECIMAL_COMMA = Sentence(
    "number.decimal-comma",
    "has a decimal comma in a comma-separated file",
    "Write {what}, or save the file with semicolons between the cells.",
)
NUMBER_COMMA_AND_POINT = Sentence(
    "number.comma-and-point", "has both a comma and a point", "Write thousands without a sign between them: 1234.5."
)
NUMBER_STOPWATCH = Sentence(
    "number.stopwatch",
    "is written as a watch shows it",
    "Write one number in the unit of the header{in_header}: minutes and seconds {text} are {seconds} seconds.",
)
NUMBER_WORDS_BESIDE = Sentence(
    "number.words-beside",
    "has words or a unit beside the number",
    "Write the number alone; the unit stands in the header{what}.",
)
NUMBER_YEAR = Sentence(
    "number.year", "is outside the years {first} to {last}", "Correct the year: year-month-day, as 2025-06-14."
)
NUMBER_NO_CLOCK = Sentence(
    "number.no-clock",
    "is no clock time",
    "Write hours and minutes of the 24-hour clock, such as 09:05 or 14:30:15, in one time zone throughout.",
)
NUMBER_NO_DAY = Sentence("number.no-day", "is no day of the calendar", "Write year-month-day, such as 2025-06-14.")
ROW_DEW_POINT_ABOVE_OAT = Sentence(
    "row.dew-point-above-oat",
    "the dew point ({cell}) is above oat ({cell2}).",
    "Correct one of the two, and check both units: air cannot hold more moisture than at its dew point.",
)
ROW_HALF_A_LEG = Sentence(
    "row.half-a-leg",
    "leg {leg} has a {sort} and no {partner}.",
    "Fill in {partner} {leg}, or empty {name}: a leg needs both.",
)
FILE_TOO_LONG = Sentence(
    "file.too-long", "a {what} has more than {longest} characters.", "Write one row a run; recordings belong outside."
)
FILE_EMPTY = Sentence("file.empty", "the file is empty.", "Its first row names the columns: {list} …")
FILE_NO_HEADER = Sentence("file.no-header", "the file holds no header.", "Its first row names the columns.")
ROW_NOT_TAKEN_APART = Sentence(
    "row.not-taken-apart",
    "the row cannot be taken apart ({error}).",
    'Look for a quotation mark (") without its partner.',
)
FILE_TOO_MANY_ROWS = Sentence(
    "file.too-many-rows", "the file has more than {most_rows} rows.", "Write one row a run; recordings belong outside."
)
DATE_GOES_BACK = Sentence(
    "date.goes-back",
    "the date goes back: {now} after {before} in the row above.",
    "Correct the date, or put the rows in the order flown.",
)
CLOCK_GOES_BACK = Sentence(
    "clock.goes-back",
    "the clock goes back: {later} after {earlier} in the row above.",
    "Correct it, put the rows in the order flown, or give the next date to runs after midnight.",
)
HEADER_UNIT_MISFIT = Sentence(
    "header.unit-misfit",
    "found the unit {unit}: {problem}.",
    "Expected a unit of {dimensions}, such as {name} [{sample}].",
)
HEADER_NO_UNIT = Sentence("header.no-unit", "the column has no unit.", "Write it into the header: {name} [{sample}].")
HEADER_INDICATED_UNIT = Sentence(
    "header.indicated-unit",
    "found the unit {unit}, which is one of an airspeed by the indicator.",
    "Write {name} [kt], if knots are meant.",
)
HEADER_TWICE = Sentence(
    "header.twice",
    "the column stands here twice, as columns {seen} and {index}.",
    "Keep one of them, or give the other its own name.",
)
HEADER_NOTHING_KNOWN = Sentence(
    "header.nothing-known",
    "none of the columns is known; the first row names the columns.",
    "Begin with a row such as: {name} …",
)
HEADER_UNKNOWN_COLUMN = Sentence(
    "header.unknown-column", "{cell} is no column that is known here; it is not used.", "{hint}"
)
COLUMN_MISSING = Sentence("column.missing", "the column is missing.", "{what}")
HEADER_UNREADABLE = Sentence("header.unreadable", "{wrong}.", "Write name [unit], such as oat [°C].")
HEADER_NO_NAME = Sentence(
    "header.no-name", "column {index} has cells but no name in the header.", "Name it, or empty it."
)
CELL_NOT_OF_A_LIST = Sentence("cell.not-of-a-list", "found {cell}, expected {options}.", "{hint}")
EXCLUDE_BARE_MARK = Sentence(
    "exclude.bare-mark",
    "found {reason}, expected a reason, or a blank cell if the run counts.",
    "Empty the cell, or write why the run is left out.",
)
THROTTLED_UNREADABLE = Sentence(
    "throttled.unreadable",
    "found {cell}, expected yes, or a blank cell.",
    "Write yes where the throttle was pulled back for the rpm limit.",
)
RUN_BLANK = Sentence("run.blank", "the cell is blank, expected the run's number or name.", "Number the runs as flown.")
ROW_REPEATED = Sentence(
    "row.repeated",
    "the row repeats row {first} in every cell but the run's name.",
    "Delete the copy, or correct its clock and readings.",
)
CELL_BLANK_KEY = Sentence("cell.blank-key", "the cell is blank, expected {options}.", "Write which one was flown.")
EXCLUDE_NO_REASON = Sentence(
    "exclude.no-reason", "found {reason}; the run is left out without a reason.", "Write why: the report shows it."
)
RUN_TWICE = Sentence("run.twice", "run {run} stands in row {first} too.", "Give every run of the file its own number.")
COLUMN_MORE_NOT_NUMBERS = Sentence(
    "column.more-not-numbers", "{wrong} more cells are no numbers.", "Mend them likewise."
)
CELL_NOT_BELIEVABLE = Sentence(
    "cell.not-believable", "found {found}{in_}, expected {bounds}.", "Check the number, and the unit in the header."
)
COLUMN_MORE_NOT_BELIEVABLE = Sentence(
    "column.more-not-believable", "{count} more cells are outside what is believable.", "Check the unit in the header."
)
FILE_NOT_TEXT = Sentence(
    "file.not-text",
    "the file is not text: it holds bytes that no text file has.",
    "From a spreadsheet, save as CSV (comma separated, UTF-8), not as a workbook under another name.",
)
FILE_NOT_UTF_8 = Sentence(
    "file.not-utf-8",
    "the file is not UTF-8; it was read as Windows western text (cp1252).",
    "Check that signs such as ° read right, or save it as UTF-8.",
)
FILE_DEVICE = Sentence(
    "file.device", "it is a device or a pipe, not a file.", "Put a file of runs there, or move it away."
)
FILE_TOO_LARGE = Sentence(
    "file.too-large",
    "the file is {size:.3g} MB; a file of runs may have at most {largest:.3g} MB.",
    "Write one row a run: recordings of every second belong elsewhere, outside this folder.",
)
FILE_NOT_OPENED = Sentence(
    "file.not-opened", "the file cannot be read ({reason}).", "Check that it is a file that you may open."
)
FILE_NOT_WRITTEN = Sentence(
    "file.not-written", "cannot be written ({reason}).", "Nothing was changed. Choose a place that you may write to."
)
FILE_IS_A_FOLDER = Sentence("file.is-a-folder", "is a folder, so no file can be written there.", "Name a file.")
FILE_NOT_REPLACEABLE = Sentence(
    "file.not-replaceable", "is a device or a pipe, not a file that can be replaced.", "Name a file."
)
FILE_NOT_READ = Sentence("file.not-read", "cannot be read ({reason}).", "Check that you may open it.")
FOLDER_NOT_MADE = Sentence("folder.not-made", "is a file, so no folder can be made there.", "Name a folder.")
TOML_VALUE_TOO_LONG = Sentence(
    "toml.value-too-long",
    "the value that begins here runs over more than {most_lines} lines.",
    "Write each value on one line.",
)
TOML_TOO_LONG = Sentence(
    "toml.too-long",
    "the file holds {count} characters, {longest} at the most.",
    "Keep to the tables of the template; notes go into a file of their own.",
)
TOML_TOO_MANY_DOTS = Sentence(
    "toml.too-many-dots",
    "the line holds {count} dots, {most_dots} at the most.",
    "Keep to the tables of the template; long text goes over several lines.",
)
TOML_ENDLESS_NUMBER = Sentence("toml.endless-number", "a number has too many digits.", "Write it as it was read.")
TOML_UNREADABLE_LINE = Sentence(
    "toml.unreadable-line",
    "the line cannot be read ({reason}): {line}",
    (
        'An entry is written name = "text" or name = 2.5; text, and numbers with a unit, go in quotes; a name'
        " or a table stands once."
    ),
)
TOML_TOO_DEEP = Sentence(
    "toml.too-deep", "tables or lists are nested too deeply.", "Keep to the tables of the template."
)
ENTRY_NOT_OF_A_LIST = Sentence("entry.not-of-a-list", "found {value}, expected {option}.", "{hint}")
ENTRY_NO_FLAG = Sentence(
    "entry.no-flag", "found {value}, expected true or false.", "Write true or false without quotes."
)
ENTRY_NO_TEXT = Sentence("entry.no-text", "found {value}, expected text.", 'Put it in quotes: "{value2}".')
ENTRY_NUMBER_OUT_OF_BOUNDS = Sentence(
    "entry.number-out-of-bounds", "found {found:g}, expected {bounds}.", "Check the number."
)
ENTRY_NO_QUANTITY = Sentence(
    "entry.no-quantity", "found {value}, expected {dimension} with its unit, in quotes.", "For example: {sample}"
)
ENTRY_BLANK = Sentence(
    "entry.blank", "is blank, expected {dimension} with its unit.", "Fill it in, for example: {sample}"
)
ENTRY_OUT_OF_BOUNDS = Sentence(
    "entry.out-of-bounds", "found {value}, expected {bounds}.", "Check the number and its unit."
)
ENTRY_NO_SECTION = Sentence(
    "entry.no-section", "found {value}, expected a table.", "Begin it with a line [{spelling}]."
)
ENTRY_OUTSIDE_TABLES = Sentence(
    "entry.outside-tables", "{what} in a table without a name.", "Begin the table with [{path}.NAME]."
)
ENTRY_UNKNOWN = Sentence("entry.unknown", "is no {what} that is known here.", "{what2}")
ENTRY_TWICE = Sentence("entry.twice", "stands here twice, as {spelling!r} and {key!r}.", "Keep one of them.")
ENTRY_NOT_A_NUMBER = Sentence(
    "entry.not-a-number", "found {value}, expected a number without a unit.", "Write a number, such as 2.22."
)
ENTRY_UNIT = Sentence("entry.unit", "found {value}: {error}.", "For example: {sample}")
ENTRY_NO_PAIR = Sentence(
    "entry.no-pair",
    "found a list of {count}, expected two: the lowest and the highest.",
    "For example: {name} = [{rpartition}, …]",
)
ENTRY_BOUNDS_TURNED_ROUND = Sentence(
    "entry.bounds-turned-round", "the lowest is above the highest.", "Turn them round."
)
TYPED_NOT_A_NUMBER = Sentence(
    "typed.not-a-number", "found {found}, expected a number without a unit, but it {wrong}.", "Such as 2.22."
)
TYPED_NO_FLAG = Sentence("typed.no-flag", "found {found}, expected true or false.", "Write one of the two.")
TYPED_NOT_WHOLE = Sentence(
    "typed.not-whole", "found {found}, expected whole numbers with commas between.", "Such as 10, 20."
)
TYPED_NO_VALUE = Sentence(
    "typed.no-value", "found {found}, expected one value, or several with commas between.", "Such as 20 kg, 45 kg."
)
TYPED_SIGNS = Sentence("typed.signs", "found {found}, which holds signs that no file can hold.", "Type it anew.")
POSITION_ERROR_LARGE = Sentence(
    "position-error.large",
    "run {run}: {share:+.0f} % is a lot for an airspeed system.",
    "Check the units, the altitude and the temperature; tracks must be tracks and not headings.",
)
CAMPAIGN_NOTHING_FLOWN = Sentence(
    "campaign.nothing-flown",
    "nothing flown yet: there is no run in {files}.",
    "Fly, fill in one row a run, then check again.",
)
CAMPAIGN_ALL_PLANNED = Sentence(
    "campaign.all-planned",
    "nothing flown yet: all {count} rows of {files} are planned runs.",
    "Fly, fill in clock and readings of each, then check again.",
)
CELL_BLANK = Sentence(
    "cell.blank",
    "the cell is blank{more}; expected a number{unit}.",
    "Fill it in, or write into the column 'exclude' why the run does not count.",
)
CELL_BLANK_AMONG_OTHERS = Sentence(
    "cell.blank-among-others",
    "the cell is blank{more}, while other rows have a reading; expected a number{unit}.",
    (
        "Fill in what was read, write into the column 'exclude' why the run does not count, or empty the "
        "whole column: a correction needs the reading of every run."
    ),
)
CELL_NOT_A_NUMBER = Sentence("cell.not-a-number", "found {found}, which {wrong}; expected a number{unit}.", "{mend}")
CELL_BLANK_TIME = Sentence("cell.blank-time", "the cell is blank; expected {expected}.", "{mend}")
CELL_UNREADABLE_TIME = Sentence("cell.unreadable-time", "found {found}, which {wrong}; expected {expected}.", "{mend}")
INSTALLATION_NOT_WHOLE = Sentence(
    "installation.not-whole",
    "found {found}, expected a whole number.",
    "Count up each time a configuration is fitted: 1, 2, 3 …",
)
INSTALLATION_BLANK = Sentence(
    "installation.blank", "the cell is blank.", "Count up each time a configuration is fitted: 1, 2, 3 …"
)
ROW_TOO_SHORT = Sentence(
    "row.too-short",
    "the row has {count} cells, expected {width} as in the header.",
    "Keep the separators of cells that are blank.",
)
ROW_TOO_LONG = Sentence(
    "row.too-long",
    "the row has {count} cells, expected {width} as in the header.",
    "Look for a separator inside a note, and put that note in quotes.",
)
ROW_TOO_LONG_BY_COMMA = Sentence(
    "row.too-long-by-comma",
    "the row has {count} cells, expected {width} as in the header.",
    "A comma inside a number or a note makes two cells of one: write 12.5 for 12,5, and quote the note.",
)
ENTRY_MISSING = Sentence("entry.missing", "is missing.", "{mend}")
LOOKS_NONE_PLANNED = Sentence(
    "looks.none-planned",
    "no looks were planned.",
    "Fix them before flying, such as looks = 3: a limit chosen after looking is none.",
)
LOOKS_NO_SUCH_LOOK = Sentence(
    "looks.no-such-look", "look {number} is not one of the {looks} planned.", "Ask for one of 1 to {looks}."
)
START_EMPTY = Sentence("start.empty", "nothing was typed.", "For example: {ready}")
START_TOO_LONG = Sentence(
    "start.too-long", "the text is too long, or holds signs that do not print.", "Use at most {longest} plain signs."
)
START_NOT_WHOLE = Sentence(
    "start.not-whole", "found {value}, expected a whole number from 1 to 20.", "Write it in figures: 2"
)
START_UNREADABLE = Sentence("start.unreadable", "{why}.", "For example: {ready}")
START_NOT_OFFERED = Sentence(
    "start.not-offered",
    "found {value}, expected {count} of the choices 1 to {most}.",
    "Type the number of the choice; several with commas between: 1, 3",
)
START_NOT_POSITIVE = Sentence("start.not-positive", "found {value}, expected more than nothing.", "Write its size.")
