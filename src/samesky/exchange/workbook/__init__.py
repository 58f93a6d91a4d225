"""How do a campaign and a workbook become each other?

In: cells. Out: the campaign's own files, and back. No formula is ever computed.
"""
