"""Same Sky: fair comparison of two configurations of one light aeroplane, from a few noisy runs."""

__version__ = "0.1.0"
