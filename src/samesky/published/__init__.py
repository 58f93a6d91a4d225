"""Who says so? Printed values with source, table and printed rounding."""
