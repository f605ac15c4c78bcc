"""Views of husbandry."""
