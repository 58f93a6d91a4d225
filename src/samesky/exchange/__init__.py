"""How is a campaign handed on, and taken in?

In: a folder, or a file from somebody else. Out: one file, or a folder; whole or not at all.
"""
