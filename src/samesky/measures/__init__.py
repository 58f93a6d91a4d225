"""What was measured? One file a measure, all of one shape."""
