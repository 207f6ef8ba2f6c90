"""From bench readings to the constants of a motor."""
