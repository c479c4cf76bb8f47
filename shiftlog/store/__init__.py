"""The workshop folder: cars, drives, results."""
