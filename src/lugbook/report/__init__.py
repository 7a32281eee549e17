"""Packet, drawings, figures: lays out, computes no limit."""
