"""Lugbook: can this house carry the charger, on which circuit, proven how."""

__version__ = "2026.1"
