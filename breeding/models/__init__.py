"""Pairings, signs, sacs and what comes out of them; kin; loans."""

from breeding.models.brood import BroodMember, BroodShare, SacCheck
from breeding.models.kin import Kin, PossibleSire
from breeding.models.loan import Loan
from breeding.models.pairing import Meeting, MeetingTap, Pairing, Sign, SpermWeb
from breeding.models.sac import EggSac, HeadCount
from breeding.models.signs import SignRatio

__all__ = [
    "BroodMember",
    "BroodShare",
    "EggSac",
    "HeadCount",
    "Kin",
    "Loan",
    "Meeting",
    "MeetingTap",
    "Pairing",
    "PossibleSire",
    "SacCheck",
    "Sign",
    "SignRatio",
    "SpermWeb",
]
