"""Model objects to pictures; pure."""
