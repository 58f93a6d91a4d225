"""What does this room say is wrong or doubtful, and how is it mended? Each sentence with its stable code.

What stands in braces is filled in by whoever says it. Wording may be changed here freely: nothing hangs on it.
"""

from samesky.campaign.messages.sentences import Sentence

TRACK_UNREADABLE = Sentence("track.unreadable", "{found}.", "{mend}")
FILM_THERE_ALREADY = Sentence("film.there-already", "is there already.", "Fill it in; nothing was changed.")
WEATHER_WING_HEIGHT_UNREADABLE = Sentence(
    "weather.wing-height-unreadable", "{error}.", 'Write it with its unit, such as "1.5 m".'
)
WEATHER_TOO_MUCH_PIPED = Sentence(
    "weather.too-much-piped", "far more was piped in than weather reports are long.", "Pipe in the reports alone."
)
SCHEDULER_NOT_INSTALLED = Sentence(
    "scheduler.not-installed", "needs a package that is not installed.", "Install samesky with its extra 'cluster'."
)
SCHEDULER_SILENT = Sentence(
    "scheduler.silent", "{scheduler} does not answer ({error}).", "Start it, or leave the option out."
)
