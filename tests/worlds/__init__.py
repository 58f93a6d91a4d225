"""Aeroplanes, engines, propellers and air that share nothing with the package's own simulator.

A second family to hold the corrections and the verdicts against: blade elements in place of fitted coefficients, two
laws of engine power, moist air, ground effect, four airframes. No module here imports the package's simulator or its
aeroplane. All SI; arrays of any shape, broadcast against each other.
"""
