"""shiftlog measures manual gear shifts from road-test logs, before and after a repair."""

__version__ = "0.1.0"
