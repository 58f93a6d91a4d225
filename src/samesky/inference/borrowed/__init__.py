"""How far do repeats scatter, where these runs show too little of it?

In: a scatter of one run with its degrees of freedom, entered or from a record of one's own campaigns. Out: the estimate
with it, what would have to be believed without it, and when it is void. The difference itself is never borrowed.
"""
