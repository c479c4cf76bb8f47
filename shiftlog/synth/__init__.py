"""Drives with known truth: lever, vehicle, vibration and sensors as physical models, never from a detector."""
