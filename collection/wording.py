"""Numbers in sentences: 1 animal, 3 animals, every day, every 4 days."""


def plural(number: int, one: str, many: str = "") -> str:
    """3 animals, 1 animal."""
    return f"{number:,} {one if number == 1 else many or one + 's'}".replace(",", "\u202f")


def every(days: int) -> str:
    """Every day, every 4 days."""
    return "every day" if days == 1 else f"every {days} days"
