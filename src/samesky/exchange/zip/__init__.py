"""Is this zip one that may be opened?

In: its bytes. Out: the files of a campaign by name, within limits; nothing is ever extracted by name.
"""
