"""Can I do it without programming? Pages on this machine, over the same functions as the command line."""
