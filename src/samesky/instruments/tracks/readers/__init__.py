"""What does the file of a receiver say?

In: GPX 1.1, NMEA 0183 or IGC. Out: fixes in SI.
"""
