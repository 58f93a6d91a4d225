"""What stands in the cells of one file of runs?

In: the bytes or texts of one CSV. Out: columns in SI with what is wrong, cell by cell, and the file written again.
Knows measures and units, no campaign.
"""
