"""What does this room say is wrong or doubtful, and how is it mended? Each sentence with its stable code.

What stands in braces is filled in by whoever says it. Wording may be changed here freely: nothing hangs on it.
"""

from samesky.campaign.messages.sentences import Sentence

POOL_NOTHING_TO_POOL = Sentence(
    "pool.nothing-to-pool",
    "no two of the {campaigns} campaigns can be pooled. {reasons}",
    "Give two campaigns or more that flew the same measure with configurations of the same names.",
)
RECORD_NOTHING = Sentence(
    "record.nothing",
    "none of the {campaigns} campaigns shows how far repeats scatter. {reasons}",
    "Give campaigns in which a measure was flown several times on one fitting.",
)
RECORD_NAME = Sentence(
    "record.name",
    "is no name for a record: campaigns know it by the end of its name, {ending}.",
    "Such as {usual}.",
)
RECORD_ALL_UNLIKE = Sentence(
    "record.all-unlike",
    "nothing is written: on every measure the campaigns scatter unlike each other.",
    "Look for the reason in the campaign that stands out; give campaigns flown by the same method.",
)
