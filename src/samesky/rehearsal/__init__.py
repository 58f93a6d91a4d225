"""Would this plan find it?

In: a campaign and its plan. Out: how often each verdict comes, over thousands of campaigns flown in the simulated sky
and judged as the real one will be.
"""
