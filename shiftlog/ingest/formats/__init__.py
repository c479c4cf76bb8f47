"""One file per log format: what is in a log, to a Sheet."""
