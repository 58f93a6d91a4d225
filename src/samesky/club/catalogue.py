"""What does this room say is wrong or doubtful, and how is it mended? Each sentence with its stable code.

What stands in braces is filled in by whoever says it. Wording may be changed here freely: nothing hangs on it.
"""

from samesky.campaign.messages.sentences import Sentence

POOL_NOTHING_TO_POOL = Sentence(
    "pool.nothing-to-pool",
    "no two of the {campaigns} campaigns can be pooled. {reasons}",
    "Give two campaigns or more that flew the same measure with configurations of the same names.",
)
