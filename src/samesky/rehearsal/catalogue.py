"""What does this room say is wrong or doubtful, and how is it mended? Each sentence with its stable code.

What stands in braces is filled in by whoever says it. Wording may be changed here freely: nothing hangs on it.
"""

from samesky.campaign.messages.sentences import Sentence

REHEARSAL_NO_CAMPAIGNS = Sentence(
    "rehearsal.no-campaigns", "found {campaigns}, expected one or more.", "A thousand are good to about 1 %."
)
REHEARSAL_DIFFERENCE_TOO_LARGE = Sentence(
    "rehearsal.difference-too-large",
    "{smallest_text} is more than any believable change of {knob} makes in the simulator.",
    "Rehearse with a smaller difference that matters.",
)
REHEARSAL_WHICH_CONFIGURATION = Sentence(
    "rehearsal.which-configuration", "{found}.", "Rehearse two at a time: --other {key}."
)
REHEARSAL_NOTHING_TO_REHEARSE = Sentence(
    "rehearsal.nothing-to-rehearse",
    "has neither a plan nor runs of both configurations, so there is nothing to rehearse.",
    "Write a [plan] into campaign.toml; `samesky new` shows how.",
)
REHEARSAL_NOT_SIMULATED = Sentence(
    "rehearsal.not-simulated", "the simulator can fly none of {tables}.", "It flies {flights}."
)
REHEARSAL_NO_SETTINGS = Sentence(
    "rehearsal.no-settings", "has no campaign.toml, so no files can be written for it.", "Read it from a folder."
)
