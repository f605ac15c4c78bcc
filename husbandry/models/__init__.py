"""Where animals stand and what is done for them."""

from husbandry.models.care import Feeding, FeedRhythm, Hold, Upkeep
from husbandry.models.place import Enclosure, Place, Stay

__all__ = ["Enclosure", "FeedRhythm", "Feeding", "Hold", "Place", "Stay", "Upkeep"]
