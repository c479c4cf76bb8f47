"""Small pieces of page."""
