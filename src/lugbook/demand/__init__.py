"""The house's interval data."""
