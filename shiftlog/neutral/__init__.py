"""Where the lever rests in neutral, how the seats of the gears lie, and what a push straight in would mean."""
