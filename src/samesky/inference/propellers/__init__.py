"""Propeller or pitch? Settings of one propeller form a line; propellers are compared on their lines, never beyond them.

In: the comparisons of every measure. Out: each propeller's line, propellers at the same top speed and engine speed, and
how much of a difference another setting could make.
"""
