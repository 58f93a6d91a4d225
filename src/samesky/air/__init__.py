"""What was the air? Standard atmosphere, moisture, altimetry, airspeed and wind."""
