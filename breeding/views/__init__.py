"""Views of breeding."""
