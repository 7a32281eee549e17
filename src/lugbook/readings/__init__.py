"""What was seen: rounds of readings."""
