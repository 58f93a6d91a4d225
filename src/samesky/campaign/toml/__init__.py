"""What stands in ``campaign.toml``, line by line?

In: its text. Out: tables and entries with the line that each stands on. Knows no meaning of any entry.
"""
