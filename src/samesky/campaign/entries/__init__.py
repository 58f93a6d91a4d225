"""Which entries may ``campaign.toml`` have, and how is one changed in its place?

In: the text of the file and what is wanted. Out: the text with that entry changed and every other line as it was.
"""
