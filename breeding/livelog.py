"""A meeting that is logged while it happens: from taps to what was seen, and what to do next.

A tap is a moment, by the house's clock, and a kind of sign. Taps may come in any order; a tap that was undone does not
count. Which insertion was on which side is what the keeper saw.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from breeding import meetwords, watchwords
from collection.stages import Group

SPIDERS = {Group.TARANTULA, Group.TRUE_SPIDER}


class Seen(StrEnum):
    """What is tapped."""

    BEGIN = "begin"
    DRUM_HIM = "drum_him"
    DRUM_HER = "drum_her"
    APPROACH = "approach"
    CONTACT = "contact"
    LIFTED = "lifted"
    LEFT = "left"
    RIGHT = "right"
    COUPLED = "coupled"
    PARTED = "parted"
    ATTACK = "attack"
    MALE_LOST = "male_lost"
    MALE_REMOVED = "male_removed"
    END = "end"

    @property
    def label(self) -> str:
        """In words, as on the button."""
        return WORDS[self]


WORDS = {
    Seen.BEGIN: "begun",
    Seen.DRUM_HIM: "he drums",
    Seen.DRUM_HER: "she drums",
    Seen.APPROACH: "approach",
    Seen.CONTACT: "contact",
    Seen.LIFTED: "lifted",
    Seen.LEFT: "insertion left",
    Seen.RIGHT: "insertion right",
    Seen.COUPLED: "joined",
    Seen.PARTED: "parted",
    Seen.ATTACK: "attack",
    Seen.MALE_LOST: "male lost",
    Seen.MALE_REMOVED: "male taken out",
    Seen.END: "ended",
}
OF_SPIDERS = (Seen.DRUM_HIM, Seen.DRUM_HER, Seen.APPROACH, Seen.CONTACT, Seen.LIFTED, Seen.PARTED)
OF_OTHERS = (Seen.APPROACH, Seen.CONTACT, Seen.PARTED)
ENDINGS = ("peace", "attack", "male_lost", "left", "unknown", "female_lost")
WATCHED = {"peace", "attack", "male_lost", "female_lost"}  # somebody saw them part
BAD = ("male_lost", "female_lost")


def word(seen: Seen, group: Group) -> str:
    """What stands on the button of a group."""
    return meetwords.words_of(group).button if seen is Seen.COUPLED else seen.label


def signs(group: Group) -> list[tuple[Seen, ...]]:
    """The rows of buttons for a group: what leads to it, what it is about, and what ends it."""
    about = (Seen.LEFT, Seen.RIGHT) if group in SPIDERS else (Seen.COUPLED,)
    before = OF_SPIDERS if group in SPIDERS else OF_OTHERS
    return [before, about, (Seen.ATTACK, Seen.MALE_LOST, Seen.MALE_REMOVED)]


@dataclass(frozen=True)
class Tapped:
    """One tap that counts; `ending` only with the end."""

    seen: Seen
    at: datetime
    ending: str = ""


@dataclass(frozen=True)
class Record:
    """What a meeting came to. Insertions are None where nobody can say; 0 means that somebody watched and saw none.

    Of groups without palps to insert `left` holds how often they joined, or she took a packet up, and `right` nothing.
    """

    begins: datetime
    ends: datetime
    left: int | None
    right: int | None
    drumming: bool | None
    ending: str
    note: str


def record(taps: Iterable[Tapped], group: Group) -> Record | None:
    """The meeting that these taps tell of; None while it has not ended.

    Errors: ValueError for an ending that is not known.
    """
    told = sorted(taps, key=lambda tap: tap.at)
    end = next((tap for tap in reversed(told) if tap.seen is Seen.END), None)
    if end is None:
        return None
    if end.ending not in ENDINGS:
        raise ValueError("Say how the meeting ended.")
    kinds = [tap.seen for tap in told]
    ending = "male_lost" if Seen.MALE_LOST in kinds and end.ending not in BAD else end.ending
    watched = ending in WATCHED
    left, right = _counted(kinds, watched, group)
    drummed = Seen.DRUM_HIM in kinds or Seen.DRUM_HER in kinds
    drumming = True if drummed else (False if watched and group in SPIDERS else None)
    return Record(told[0].at, end.at, left, right, drumming, ending, _note(kinds))


def _counted(kinds: Sequence[Seen], watched: bool, group: Group) -> tuple[int | None, int | None]:
    if group in SPIDERS:
        return _insertions(kinds, Seen.LEFT, watched), _insertions(kinds, Seen.RIGHT, watched)
    joined = kinds.count(Seen.COUPLED)
    return (joined if joined or watched else None), None


def _insertions(kinds: Sequence[Seen], side: Seen, watched: bool) -> int | None:
    """How many were seen on a side; where one side was seen the other was as well."""
    if watched or {Seen.LEFT, Seen.RIGHT} & set(kinds):
        return kinds.count(side)
    return None


def _note(kinds: Sequence[Seen]) -> str:
    """What the columns of a meeting do not hold, in words."""
    rest = [Seen.DRUM_HIM, Seen.DRUM_HER, Seen.LIFTED, Seen.ATTACK]
    parts = [
        f"{one.label}{f' {kinds.count(one)} times' if kinds.count(one) > 1 else ''}" for one in rest if one in kinds
    ]
    return ", ".join(parts)


def after(ending: str, insertions: int | None, group: Group, *, logged: bool = False) -> list[str]:
    """What to do next, one sentence each. Common practice; the days are the trade's.

    `insertions`: both sides together; None where nobody could see. `logged`: the death of who was lost is on record.
    """
    found = []
    if ending in BAD and not logged:
        who = "his" if ending == "male_lost" else "her"
        found.append(f"Log {who} death, so that it stands in no list any more.")
    if ending == "female_lost":
        return found
    if ending == "left":
        found.append("They were left together: look in often, by red light, and note when he is taken out.")
    elif ending == "attack":
        found.append("Look at both for wounds, and let them rest; feed her before another try in one to two weeks.")
    found += _by_insertions(ending, insertions, group)
    if ending != "attack":
        found.append("Feed her well from now on, and keep her undisturbed.")
    return found


def _by_insertions(ending: str, insertions: int | None, group: Group) -> list[str]:
    again = ending != "male_lost"
    if group not in SPIDERS:
        return _of_others(insertions, group, again)
    if insertions:
        words = "Insertions were seen, so the wait for a sac runs."
        more = " One or two more meetings, one to four weeks apart, are usual; he needs a new sperm web first."
        return [words + (more if again else "")]
    if insertions == 0:
        more = (
            " Try again in some days, when she is fed and he has built a web." if again else " Another male is needed."
        )
        return [f"No insertion was seen.{more}"]
    more = " Another meeting in one to two weeks makes it surer." if again else ""
    return [f"Nobody can say whether it worked; the wait for a sac runs all the same.{more}"]


def _of_others(joined: int | None, group: Group, again: bool) -> list[str]:
    """The same for groups without palps to insert, in their own words."""
    words, brood = meetwords.words_of(group), watchwords.words_of(group).brood
    said = words.say(joined)
    if joined:
        return [f"{said[:1].upper()}{said[1:]}, so the wait for {brood} runs."]
    if joined == 0:
        more = "Try again in some days, when she is fed." if again else "Another male is needed."
        return [f"Seen to the end: {said}. {more}"]
    more = " Another meeting in some days makes it surer." if again else ""
    return [f"Nobody can say whether it worked; the wait for {brood} runs all the same.{more}"]
