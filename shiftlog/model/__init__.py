"""The words everyone speaks: frozen dataclasses, no computation."""
