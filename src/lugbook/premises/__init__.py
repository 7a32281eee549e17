"""The house as stated: everything the plan file holds."""
