"""Evidence, then hysteresis: gears, shifts, rests, and what was rejected."""
