"""How two of a group meet: what is counted while they do, in which words, and what to mind before he goes in.

Only spiders have palps to insert, on two sides; of all others it is counted how often they joined, or how often she
took up what he had set down. Cautions are common practice unless a source is named in them; none tells a number
that nobody has counted.
"""

from __future__ import annotations

from dataclasses import dataclass

from collection.stages import Group


@dataclass(frozen=True)
class MeetWords:
    """A group's words for a meeting; `sides`: insertions left and right are told apart, and drumming is looked for."""

    field: str  # the name of the count in a form
    hint: str
    button: str  # the tap while it happens
    once: str  # it was seen once
    often: str  # it was seen so often; takes the number
    none: str  # somebody watched and saw none
    unseen: str
    cautions: tuple[str, ...]
    sides: bool = False

    def say(self, count: int | None) -> str:
        """What was seen of a meeting. Errors: ValueError below 0."""
        if count is None:
            return self.unseen
        if count < 0:
            raise ValueError("Meetings are counted from zero.")
        return {0: self.none, 1: self.once}.get(count, self.often.format(count))


PART = "Be ready to part them: a long brush, or a piece of card between them."
EMPTY = "Leave it empty when nobody could see."


def _palps(*cautions: str) -> MeetWords:
    return MeetWords(
        "insertions seen", "Leave both empty when nobody could see.", "joined",
        "1 insertion seen", "{} insertions seen", "no insertion seen", "insertions not seen", cautions, sides=True,
    )  # fmt: skip


def _joined(*cautions: str) -> MeetWords:
    return MeetWords(
        "seen joined, times", EMPTY, "joined",
        "joined once", "joined {} times", "not joined", "not seen whether they joined", cautions,
    )  # fmt: skip


def _packet(*cautions: str) -> MeetWords:
    return MeetWords(
        "sperm packets she took up", EMPTY, "she takes the packet",
        "1 sperm packet taken up", "{} sperm packets taken up", "no sperm packet taken up",
        "not seen whether she took a sperm packet", cautions,
    )  # fmt: skip


TOGETHER = "They eat no animals alive: he may stay with her for days."
WORDS = {
    Group.TARANTULA: _palps(
        "In seven species watched in Uruguay no female ate the male; of others nobody has counted.",
        PART,
    ),
    Group.TRUE_SPIDER: _palps(
        "In many true spiders she eats the male afterwards, in some about as often as not (an orb weaver, J. Arachnol. "
        "43(1)), in others seldom: feed her first, and take him out when he lets go.",
        PART,
    ),
    Group.SCORPION: _packet(
        "He leads her by the claws and sets a sperm packet on the ground: lay down a flat stone or bark first.",
        "They may seize or sting each other: feed her first, and take him out with long tongs once they let go.",
    ),
    Group.WHIP_SPIDER: _packet(
        "He sets a sperm packet down before her: they need bark to stand on, no light and no shaking.",
        "A hungry female seizes him: feed her first, and take him out when they have parted.",
    ),
    Group.CENTIPEDE: _packet(
        "He leaves a sperm packet on a small web, and she takes it up, often unseen at night.",
        "Either may eat the other: two of a size, both fed, and a way out. They are faster than a hand.",
    ),
    Group.MANTIS: _joined(
        "She may eat him before he reaches her, while they are joined, or afterwards.",
        "Feed her until she refuses, let him in behind her and from afar, and give him height to climb off.",
        "Joined, they are left alone for hours. Take him out when he has let go, before she turns.",
        "Both mature one to two weeks after the last molt, some later: earlier meetings cost males.",
    ),
    Group.MILLIPEDE: _joined(TOGETHER),
    Group.ISOPOD: _joined(TOGETHER),
    Group.ROACH: _joined(TOGETHER),
    Group.BEETLE: _joined("He may stay with her for days; two males in one box fight.",),
    Group.STICK_INSECT: _joined(TOGETHER),
}  # fmt: skip
OTHERS = _joined("Of this group nothing is on record here: feed her first, stay by, and be ready to part them.")


def words_of(group: Group) -> MeetWords:
    """Return the words of a group; general ones where it has none of its own."""
    return WORDS.get(group, OTHERS)
