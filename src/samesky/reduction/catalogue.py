"""What does this room say is wrong or doubtful, and how is it mended? Each sentence with its stable code.

What stands in braces is filled in by whoever says it. Wording may be changed here freely: nothing hangs on it.
"""

from samesky.campaign.messages.sentences import Sentence

RESULT_TOO_FAR = Sentence(
    "result.too-far",
    (
        "{says}: the air alone would change the {result} by up to {most:.0f} %, and no correction is believed"
        " beyond {furthest:.0f} %: nothing is corrected, and nothing is compared."
    ),
    (
        "Fly both configurations at one height in like air. Leave these runs out with that reason in the "
        "column 'exclude', or name a [reference] near the air that was flown in."
    ),
)
RESULT_NOT_BELIEVABLE = Sentence(
    "result.not-believable",
    "{named}: {result} comes to {shown}, which is hard to believe.",
    "Check the readings and their units.",
)
RESULT_CORRECTION_BEYOND_RANGE = Sentence(
    "result.correction-beyond-range",
    "{named}: the {correction} correction {says}.",
    "Match the conditions better, or say beside the result what is outside.",
)
