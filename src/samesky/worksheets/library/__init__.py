"""Which campaigns are there, and how does a new one come in?"""
