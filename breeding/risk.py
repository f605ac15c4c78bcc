"""What bears on the risk to a male in a meeting: named factors, each with one plain word and a sentence.

There is no percentage: no traceable study counts how often a male is lost in captivity. The limits are common practice
or assumptions and say so. Days are whole days, sizes mm in the same measure for both.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from breeding.planning import Temperament
from breeding.readiness import AGEING_DAYS, FED_DAYS
from collection.dates import say_days
from collection.stages import Group

FRESH_DAYS = 30  # assumption: so soon after her molt she is soft and hungry
SMALL, LARGE = 0.7, 1.3  # assumption: his size to hers
HARMLESS = {Group.ISOPOD, Group.ROACH, Group.BEETLE, Group.STICK_INSECT, Group.MILLIPEDE}  # eat no animals alive
HIDING = {Group.TARANTULA, Group.TRUE_SPIDER, Group.SCORPION, Group.CENTIPEDE, Group.WHIP_SPIDER}
TEMPERS = {
    Temperament.CALM: ("calm", "Females of the genus are held to be calm with males"),
    Temperament.MIXED: ("mixed", "Females of the genus are held to be now calm, now not"),
    Temperament.FIERCE: ("fierce", "Females like her are held to be fierce to males"),
}


class Bearing(StrEnum):
    """Which way a factor bears."""

    EASES = "eases"
    RAISES = "raises"
    OPEN = "open"  # not known, or neither


@dataclass(frozen=True)
class Factor:
    """One factor: its name, its plain word, which way it bears, and why."""

    name: str
    word: str
    bearing: Bearing
    sentence: str


@dataclass(frozen=True)
class RiskFacts:
    """What is known before a meeting; None where nothing is. `attacks` and `peaceful` are her meetings on record."""

    group: Group
    temperament: Temperament
    days_fed: int | None = None
    days_molted: int | None = None
    her_mm: float | None = None
    his_mm: float | None = None
    his_days: int | None = None  # since his last molt
    way_out: bool | None = None
    retreat: bool | None = None
    attacks: int = 0
    lost: int = 0
    peaceful: int = 0

    def __post_init__(self) -> None:
        """Refuse what cannot be."""
        for days in (self.days_fed, self.days_molted, self.his_days):
            if days is not None and days < 0:
                raise ValueError("A day that is counted from cannot lie ahead.")
        for size in (self.her_mm, self.his_mm):
            if size is not None and size <= 0:
                raise ValueError("A size is above zero.")
        if min(self.attacks, self.lost, self.peaceful) < 0:
            raise ValueError("Meetings are counted from zero.")


def factors(facts: RiskFacts) -> list[Factor]:
    """All factors, those that raise the risk first, then what is open. None in groups that eat no animals."""
    if facts.group in HARMLESS:
        return []
    found = [_fed(facts), _past(facts), _temper(facts), _molted(facts), _size(facts), _way_out(facts)]
    if facts.group in HIDING:
        found.append(_retreat(facts))
    if facts.group is Group.TARANTULA:
        found.append(_age(facts))
    order = [Bearing.RAISES, Bearing.OPEN, Bearing.EASES]
    return sorted((one for one in found if one is not None), key=lambda one: order.index(one.bearing))


def _fed(facts: RiskFacts) -> Factor:
    if facts.days_fed is None:
        return Factor("her hunger", "not known", Bearing.OPEN, "No meal of hers on record. Feed her before he goes in.")
    words = f"Her last meal was {say_days(facts.days_fed)}"
    if facts.days_fed <= FED_DAYS:
        return Factor("her hunger", "fed", Bearing.EASES, f"{words}.")
    return Factor("her hunger", "hungry", Bearing.RAISES, f"{words}. Hungry females attack more: feed her first.")


def _molted(facts: RiskFacts) -> Factor:
    days = facts.days_molted
    if days is None:
        return Factor("her molt", "not known", Bearing.OPEN, "No molt of hers on record.")
    words = f"She molted {say_days(days)}"
    if days <= FRESH_DAYS:
        more = "Freshly molted females attack more, and she may be soft: wait until she has hardened and eaten."
        return Factor("her molt", "fresh", Bearing.RAISES, f"{words}. {more}")
    return Factor("her molt", "hardened", Bearing.EASES, f"{words}.")


def _size(facts: RiskFacts) -> Factor:
    if facts.her_mm is None or facts.his_mm is None:
        return Factor("sizes", "not known", Bearing.OPEN, "The size of one of them is not on record.")
    ratio = facts.his_mm / facts.her_mm
    words = f"He is {facts.his_mm:.0f} mm to her {facts.her_mm:.0f} mm"
    if ratio < SMALL:
        return Factor("sizes", "he is small", Bearing.RAISES, f"{words}; a much smaller male is easily taken for prey.")
    if ratio > LARGE:
        return Factor("sizes", "he is large", Bearing.OPEN, f"{words}; watch that he does not harm her.")
    return Factor("sizes", "alike", Bearing.EASES, f"{words}.")


def _temper(facts: RiskFacts) -> Factor:
    word, words = TEMPERS[facts.temperament]
    bears = {Temperament.CALM: Bearing.EASES, Temperament.FIERCE: Bearing.RAISES}
    return Factor(
        "temperament", word, bears.get(facts.temperament, Bearing.OPEN), f"{words} (an assumption, no count)."
    )


def _past(facts: RiskFacts) -> Factor | None:
    """Her own past with males, by the records."""
    bad = facts.attacks + facts.lost
    if bad:
        lost = f", {facts.lost} male{'s' if facts.lost > 1 else ''} lost" if facts.lost else ""
        met = bad + facts.peaceful
        where = "the only meeting" if met == 1 else f"{bad} of {met} meetings"
        words = f"She attacked in {where} on record{lost}."
        return Factor("her past", "has attacked", Bearing.RAISES, words)
    if facts.peaceful:
        words = f"{facts.peaceful} meeting{'s' if facts.peaceful > 1 else ''} on record, none with an attack."
        return Factor("her past", "peaceful so far", Bearing.EASES, words)
    return None


def _way_out(facts: RiskFacts) -> Factor:
    if facts.way_out is None:
        words = "Nobody has noted whether he has a way out: leave the lid so that you can let him out at once."
        return Factor("a way out for him", "not noted", Bearing.OPEN, words)
    if facts.way_out:
        return Factor("a way out for him", "given", Bearing.EASES, "He has room to run, or a hand that lets him out.")
    return Factor("a way out for him", "none", Bearing.RAISES, "He has no way out. Give him one before he goes in.")


def _retreat(facts: RiskFacts) -> Factor:
    if facts.retreat is None:
        return Factor("her retreat", "not noted", Bearing.OPEN, "Nobody has noted whether she can withdraw.")
    if facts.retreat:
        words = "She has a retreat; keep him out of it, where nobody can part them."
        return Factor("her retreat", "there", Bearing.EASES, words)
    return Factor("her retreat", "none", Bearing.RAISES, "She has nowhere to withdraw to; she may stand her ground.")


def _age(facts: RiskFacts) -> Factor:
    if facts.his_days is None:
        return Factor("his age", "not known", Bearing.OPEN, "The day of his last molt is not on record.")
    words = f"His last molt was {say_days(facts.his_days)}"
    if facts.his_days > AGEING_DAYS:
        return Factor("his age", "ageing", Bearing.RAISES, f"{words}; he may be too slow to get away.")
    return Factor("his age", "in his prime", Bearing.EASES, f"{words}.")
