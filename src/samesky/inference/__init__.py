"""Is the difference real? Flown order, difference, interval, verdict."""
