"""Forms of the bottom app."""
