"""Forms of husbandry."""
