"""What follows from what was written, before any correction?

In: a campaign. Out: pressure, weight and slope of every run, the air where the aeroplane was, the coefficients of this
aeroplane, rpm in hand, and the cautions that the change itself brings.
"""
