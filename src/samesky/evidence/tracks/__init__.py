"""Which runs are in a satellite track?

Found, proposed, doubted, put: in that order, file by file.
"""
