"""What flew? Loading and centre of gravity, engine, propeller."""
