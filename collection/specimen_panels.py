"""Panels and log forms of the bottom app on an animal's page."""
