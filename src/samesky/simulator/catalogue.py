"""What does this room say is wrong or doubtful, and how is it mended? Each sentence with its stable code.

What stands in braces is filled in by whoever says it. Wording may be changed here freely: nothing hangs on it.
"""

from samesky.campaign.messages.sentences import Sentence

EXAMPLE_UNKNOWN = Sentence("example.unknown", "is no example campaign.", "{what}")
EXAMPLE_FOLDER_NOT_EMPTY = Sentence(
    "example.folder-not-empty", "holds files already, and they might be yours.", "Name a folder that is not there yet."
)
