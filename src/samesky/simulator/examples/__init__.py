"""Which ready-made campaigns are there, with known truth?

In: a seed. Out: folders as a pilot would write them, with ``TRUTH.md``.
"""
