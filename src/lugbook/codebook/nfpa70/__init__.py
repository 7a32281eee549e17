"""NFPA 70: logic once a topic, numbers once an edition."""
