"""Pairings, signs, sacs and what comes out of them."""

from breeding.models.kin import Kin, PossibleSire
from breeding.models.pairing import Meeting, Pairing, Sign, SpermWeb
from breeding.models.sac import EggSac, HeadCount

__all__ = ["EggSac", "HeadCount", "Kin", "Meeting", "Pairing", "PossibleSire", "Sign", "SpermWeb"]
