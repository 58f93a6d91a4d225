"""How well was it read? Error sources with a scope, one file an instrument."""
