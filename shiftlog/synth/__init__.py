"""Drives with known truth: lever, vehicle, vibration and recorders, physics first."""
