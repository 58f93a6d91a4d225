"""Which one to fly, within which limits, on one page for the club?

In: a campaign, its comparisons and what they say together. Out: words, tables, and the same for machines.
"""
