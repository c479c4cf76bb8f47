"""Numpy and scipy on bare arrays; no project objects."""
