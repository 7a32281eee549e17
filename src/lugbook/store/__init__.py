"""The record: one SQLite file a house; the only SQL."""
