"""Recordings placed on one clock, axes turned to the vehicle."""
