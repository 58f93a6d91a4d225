"""Which cells can the airfield's weather reports fill?

Found, proposed, doubted, put: in that order, file by file.
"""
