"""What do all measures say together? One line of excess thrust against airspeed.

In: the comparisons of every measure. Out: the difference of excess thrust, and every measure told by all of them.
"""
