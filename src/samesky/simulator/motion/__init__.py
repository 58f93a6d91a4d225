"""What truly comes out of one run?

In: an aeroplane and the air. Out: rolls, climbs, level speeds, pulls, and where the aeroplane was at every moment.
"""
