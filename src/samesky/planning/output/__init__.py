"""How is a plan told?

In: a plan. Out: words, the terminal's page, JSON.
"""
