"""Pages and forms; no arithmetic."""
