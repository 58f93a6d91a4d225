"""How is it said that something is wrong?

In: file, row, column, what was found and expected. Out: :class:`~samesky.campaign.messages.findings.Finding` and the
one error that the command line shows. Knows no table and no campaign.
"""
