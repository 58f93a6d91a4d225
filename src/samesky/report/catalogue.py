"""What does this room refuse, and how is it mended? Each sentence with its stable code.

What stands in braces is filled in by whoever says it. Wording may be changed here freely: nothing hangs on it.
"""

from samesky.campaign.messages.sentences import Sentence

PICTURE_KIND = Sentence("picture.kind", "is neither a PNG nor an SVG by its name.", "Let it end in .png or .svg.")
PICTURE_NOTHING = Sentence(
    "picture.nothing", "cannot be drawn: {why}", "Fly two measures of thrust with both configurations."
)
