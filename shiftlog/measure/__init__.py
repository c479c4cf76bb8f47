"""One figure at a time, each with its unit, its error or the reason why it is missing."""
