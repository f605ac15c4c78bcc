"""Where animals stand and what is done for them."""

from husbandry.models.care import Feeding, FeedRhythm, Hold, Upkeep
from husbandry.models.handover import EmergencyCard
from husbandry.models.place import Enclosure, Place, Stay
from husbandry.models.walk import Tap, Walk

__all__ = ["EmergencyCard", "Enclosure", "FeedRhythm", "Feeding", "Hold", "Place", "Stay", "Tap", "Upkeep", "Walk"]
