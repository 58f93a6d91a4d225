"""How are the pages served, and to whom?

The one door, the routes, faults, and the sentence for the next page.
"""
