"""Template tags of breeding."""
