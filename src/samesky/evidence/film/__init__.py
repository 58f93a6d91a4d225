"""Which rolls are in a film?

Found, proposed, doubted, put: in that order, file by file.
"""
