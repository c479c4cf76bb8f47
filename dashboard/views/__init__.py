"""One page each: layout and register."""
