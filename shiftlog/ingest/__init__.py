"""One file per log format; a file becomes a Recording."""
