"""What flies in the simulator?

Airframe, engine and propeller with known constants. Arrays over runs in SI.
"""
