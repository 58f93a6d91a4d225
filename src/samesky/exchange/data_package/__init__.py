"""How does a campaign describe itself to other programs?

The description follows the open standard of data packages; a folder can be held against its description.
"""
