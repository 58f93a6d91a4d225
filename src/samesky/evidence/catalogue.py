"""What does this room say is wrong or doubtful, and how is it mended? Each sentence with its stable code.

What stands in braces is filled in by whoever says it. Wording may be changed here freely: nothing hangs on it.
"""

from samesky.campaign.messages.sentences import Sentence

FILM_NOTHING_ASKED = Sentence(
    "film.nothing-asked",
    "asks for nothing that a film of rolls can give.",
    "Ask for [measure.takeoff_roll] or [measure.ground_acceleration], or for a free measure time_to_lift_off in s or "
    "speed_between_markers.",
)
FILM_NONE = Sentence("film.none", "no filmed roll is written down.", "Begin its table: samesky film DIR --begin")
CLOCK_OFFSET_UNREADABLE = Sentence(
    "clock.offset-unreadable",
    "found {text}, expected how far the clock of the runs is ahead of UTC, from -12 to 14 hours.",
    "Write such as +02:00, -05:00 or Z.",
)
CLOCK_NO_SPAN = Sentence(
    "clock.no-span", "is the same time as {called}.", "Give the time after the end of what is meant."
)
TRACK_NOTHING_BETWEEN = Sentence(
    "track.nothing-between", "the track has nothing between these times.", "{said} Check {called} too."
)
TRACK_SEVERAL_DAYS = Sentence(
    "track.several-days", "the track has these times on several days.", "{said} Give {called} as well."
)
CLOCK_UNREADABLE = Sentence("clock.unreadable", "found {text}, which {wrong}.", "{mend}")
HEADER_UNIT_NOT_WRITABLE = Sentence(
    "header.unit-not-writable",
    "the header {cell} gives no unit that can be written in ({wrong}).",
    "Write it as {header_cell}.",
)
SOURCE_STATED_SMALLER = Sentence(
    "source.stated-smaller",
    "it states less than this {finder} is known to: {count} table{plural}.",
    "Write there by hand, then try again: {larger}. Nothing was changed.",
)
SOURCE_OTHER_TARGET = Sentence(
    "source.other-target",
    "{where} {found}, and the {finder} needs it to be about {target!r}.",
    "Give that table another name, then try again. Nothing was changed.",
)
SOURCE_OTHER_SCOPE = Sentence(
    "source.other-scope",
    "{where} has the scope {scope!r}, and what the {finder} knows has {scope2!r}.",
    "Change it by hand if you agree, or give that table another name. Nothing was changed.",
)
TRACK_NO_FIXES = Sentence("track.no-fixes", "has no fixes between these times.", "{span}")
TRACK_NO_SUCH_MEASURE = Sentence("track.no-such-measure", "gives no {measure}; it can give {measured}.", "{hint}")
TRACK_MEASURE_NOT_ASKED = Sentence(
    "track.measure-not-asked", "has no [measure.{name}].", "Add that table first: what matters is fixed before flying."
)
TRACK_NO_SUCH_CONFIGURATION = Sentence("track.no-such-configuration", "has no configuration {configuration}.", "{hint}")
TRACK_NO_ROW = Sentence("track.no-row", "gives no row: {reason}.", "Say which times are meant.")
TRACK_HEIGHTS = Sentence("track.heights", "{error}.", "Check the heights of the track, and oat.")
PUT_PLANNED_ROW_GONE = Sentence(
    "put.planned-row-gone", "a planned row that was to be filled is none any more.", "Look for the runs again."
)
PUT_RUN_THERE_ALREADY = Sentence(
    "put.run-there-already",
    "a run within the one that began at {the_row} on {get} is there already.",
    "Nothing was added twice. Delete that row first if the track is to take its place.",
)
PUT_HEADER_CHANGED = Sentence(
    "put.header-changed",
    "its header {header!r} is no longer {cell!r}, for which the rows were made.",
    "Look for the runs again.",
)
TRACK_INSTALLATION_UNKNOWN = Sentence(
    "track.installation-unknown",
    "its runs count installations, and the runs before and after {begin:%H:%M} do not say which this is.",
    "Say which: --installation NUMBER.",
)
TRACK_ONE_SPEED = Sentence("track.one-speed", "only one of them is given.", "Give both ground speeds, or neither.")
TRACK_HALF_A_BAND = Sentence(
    "track.half-a-band", "only one of them is given.", "Give both heights of the band, or neither."
)
TRACK_NOT_BELIEVABLE = Sentence(
    "track.not-believable", "found {text}, which is hard to believe.", "Check the number and its unit."
)
TRACK_NOT_OF_MEASURE = Sentence(
    "track.not-of-measure", "{belongs} to {names}, and {called} is {measure}.", "Leave it out."
)
TRACK_BAND_TURNED_ROUND = Sentence(
    "track.band-turned-round", "{said} is not above {called} {said2}.", "Turn the two round."
)
TRACK_UNIT = Sentence("track.unit", "{error}.", 'Write it with its unit, such as "{sample}".')
WEATHER_OFFSET_OUT_OF_BOUNDS = Sentence(
    "weather.offset-out-of-bounds", "found {utc_offset_hours:g} h, expected -12 to 14.", "UTC is 0; +02:00 is 2."
)
WEATHER_NO_RUN = Sentence(
    "weather.no-run",
    "no run on the ground: a report holds for take-off and landing rolls and for static pulls.",
    "Fill in date, clock and what was measured of each run first.",
)
WEATHER_READING_APART = Sentence(
    "weather.reading-apart",
    (
        "{named}: the reading differs from the report by {gap} (run {run}), more than {apart:g} standard "
        "uncertainties of both together ({allowed}). The reading stays."
    ),
    "Check the reading, the clock and the offset from UTC; or state in [instrument] what {own} is worth.",
)
WEATHER_TOO_FAR = Sentence(
    "weather.too-far",
    "the report nearest to any run is {how_long} away from it.",
    "Paste the reports of the hours of flying; check the dates of the runs and the offset from UTC.",
)
WEATHER_UNREADABLE = Sentence(
    "weather.unreadable", "{error}.", "Nothing was changed. Paste the reports of one aerodrome."
)
WEATHER_WING_HEIGHT = Sentence("weather.wing-height", "found {wing:g} m: {error}.", "About 1 to 2.5 m is usual.")
WEATHER_EITHER_MONTH = Sentence(
    "weather.either-month",
    "the report {text!r} may be of either month: both have runs on its day.",
    "Fill in one of the two days by hand.",
)
FILM_READING_APART = Sentence(
    "film.reading-apart",
    (
        "run {run}: the reading differs from the film ({film}) by {gap}, more than {apart:g} standard "
        "uncertainties of both together ({allowed}). The reading stays."
    ),
    "Look at the frames, and at what was written by hand; empty the cell if the film is to fill it.",
)
FILM_CELL_NO_NUMBER = Sentence(
    "film.cell-no-number",
    "run {run}: the cell holds no number, and the film gives {film}. The cell stays.",
    "Look at the frames, and at what was written by hand; empty the cell if the film is to fill it.",
)
FILM_NOT_DESCRIBED = Sentence(
    "film.not-described",
    "it is not said how the rolls were filmed.",
    "Give frame_rate, markers, marker_offset, camera and camera_distance.",
)
PUT_FILE_CHANGED = Sentence(
    "put.file-changed", "has changed since the proposal was made.", "Nothing was changed. Make the proposal again."
)
PUT_CELL_CHANGED = Sentence(
    "put.cell-changed",
    "the cell has changed since the proposal was made.",
    "Nothing was changed. Make the proposal again.",
)
