"""What a brood is called and its stages, by group: a mantis has an ootheca, a scorpion bears live young."""

from __future__ import annotations

from dataclasses import dataclass

from collection.stages import Group


@dataclass(frozen=True)
class BroodWords:
    """The group's own words: the brood, how it may be kept, and its stages in order, each as its value and its word."""

    brood: str
    kinds: tuple[str, ...]
    stages: tuple[tuple[str, str], ...]
    young: str

    @property
    def one(self) -> str:
        """The brood with its article."""
        return with_article(self.brood)

    @property
    def labels(self) -> dict[str, str]:
        """Words of the stages by their values."""
        return dict(self.stages)


SPIDER = BroodWords(
    "sac",
    ("carried", "fixed"),
    (("egg", "eggs"), ("ewl", "eggs-with-legs"), ("larva", "larvae"), ("spiderling", "spiderlings")),
    "spiderlings",
)
INSECT = (("egg", "eggs"), ("young", "nymphs"))
WORDS = {
    Group.TARANTULA: SPIDER,
    Group.TRUE_SPIDER: SPIDER,
    Group.SCORPION: BroodWords(
        "litter", ("live",), (("larva", "on her back, instar 1"), ("young", "dispersed, instar 2")), "young scorpions"
    ),
    Group.WHIP_SPIDER: BroodWords(
        "egg sac",
        ("carried",),
        (("egg", "eggs"), ("larva", "on her back"), ("young", "free nymphs")),
        "nymphs",
    ),
    Group.CENTIPEDE: BroodWords(
        "clutch",
        ("guarded",),
        (("egg", "eggs"), ("larva", "hatched, guarded"), ("young", "free young")),
        "young centipedes",
    ),
    Group.MANTIS: BroodWords(
        "ootheca", ("ootheca",), (("egg", "ootheca, eggs not counted"), ("young", "nymphs")), "nymphs"
    ),
    Group.STICK_INSECT: BroodWords("eggs", ("single", "ootheca", "soil"), INSECT, "nymphs"),
    Group.ROACH: BroodWords("brood", ("live", "ootheca"), INSECT, "nymphs"),
    Group.ISOPOD: BroodWords("brood", ("live",), (("larva", "mancas in her pouch"), ("young", "mancas")), "mancas"),
    Group.MILLIPEDE: BroodWords(
        "clutch", ("soil",), (("egg", "eggs"), ("young", "young millipedes")), "young millipedes"
    ),
    Group.BEETLE: BroodWords("clutch", ("soil", "single"), (("egg", "eggs"), ("larva", "larvae")), "larvae"),
}
OTHERS = BroodWords(
    "clutch",
    ("single", "soil", "guarded", "live", "ootheca", "carried", "fixed"),
    (("egg", "eggs"), ("larva", "larvae"), ("young", "free young")),
    "young",
)


ALL_LOOKS = ("fine", "turned", "dented", "wet", "mould", "legs", "moving")
EGGS_LAID = ("fine", "dented", "wet", "mould", "moving")
LOOKS = {
    Group.TARANTULA: ALL_LOOKS,
    Group.TRUE_SPIDER: ALL_LOOKS,
    Group.SCORPION: ("fine", "moving"),
    Group.WHIP_SPIDER: ("fine", "dented", "mould", "moving"),
}


def looks_of(group: Group) -> tuple[str, ...]:
    """Return what can be seen of a brood of a group: only spiders turn their sac, and only there legs show."""
    return LOOKS.get(group, EGGS_LAID)


def words_of(group: Group) -> BroodWords:
    """The words of a group; general ones where it has none of its own."""
    return WORDS.get(group, OTHERS)


def with_article(brood: str) -> str:
    """Return what a brood is called with its article: «an ootheca», «a sac», and «eggs» as they are."""
    if brood.endswith("s") and not brood.endswith("ss"):
        return brood
    return f"an {brood}" if brood[0] in "aeiou" else f"a {brood}"
