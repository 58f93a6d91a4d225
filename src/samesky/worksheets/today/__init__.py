"""The page for the apron, on the day."""
