"""Which part of a track is a run, and what does it measure?

In: fixes. Out: segments with their reading and its standard uncertainty.
"""
