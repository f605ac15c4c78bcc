"""Views of the bottom app."""
