"""How does somebody begin who has never done this?

In: the answers to eight questions. Out: the files of a campaign that can be planned at once, with only what is needed.
"""
