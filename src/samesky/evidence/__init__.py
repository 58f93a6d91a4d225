"""What can tracks, films and weather reports fill in?

In: what was found in them. Out: rows and cells, proposed first, and put into the files all or none.
"""
