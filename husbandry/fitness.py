"""Whether an enclosure fits who lives in it: pure, on plain values. Every warning names its rule.

The rules come from care pages and common practice; no measured study of enclosure sizes was found. They warn and
never forbid. Where a measure is not on record, the rule says so instead of guessing.
"""

from __future__ import annotations

from dataclasses import dataclass

from collection.stages import Group, Lifestyle, Stage

PAGES, PRACTICE, ASSUMED = "care pages", "common practice", "assumption of this program"
FLOOR_LENGTH, FLOOR_WIDTH = 3.0, 2.0  # times the leg span; care pages
FALL_SPANS, FALL_MM = 1.5, 200.0  # free fall; the first common practice, the second the upper end of 15–20 cm
HEAVY_FROM_MM = 50.0  # assumption: below this leg span a fall harms little
BURROW_SPANS, BURROW_MM = 2.0, 200.0  # packed substrate for burrowers: the less of the two; common practice
CLIMB_SPANS = 2.0  # height for tree dwellers; common practice says two to three
HANG_HEIGHT, HANG_WIDTH = 3.0, 2.0  # times the body length, to hang free for a molt; common practice
SETTLED = (Lifestyle.TERRESTRIAL, Lifestyle.FOSSORIAL, Lifestyle.DWARF)


@dataclass(frozen=True)
class Box:
    """Inner measures in mm, substrate depth in mm; None where not on record."""

    length: float | None = None
    width: float | None = None
    height: float | None = None
    substrate: float | None = None

    @property
    def free_height(self) -> float | None:
        """From the substrate to the lid, in mm."""
        return None if self.height is None or self.substrate is None else max(self.height - self.substrate, 0.0)


@dataclass(frozen=True)
class Dweller:
    """Who lives there: `size` in mm is the leg span, or the body length when `by_body`."""

    group: Group
    lifestyle: Lifestyle
    stage: Stage
    size: float | None
    by_body: bool = False


@dataclass(frozen=True)
class Remark:
    """A rule that is broken, or that cannot be judged; `rests_on` says how far to trust it."""

    rule: str
    sentence: str
    rests_on: str
    broken: bool = True


def remarks(box: Box, dweller: Dweller) -> list[Remark]:
    """Every rule that this box breaks for this animal, and every rule that wants a measure which is not on record.

    Raises ValueError for a measure that is negative or not a number. A group without a rule has no remark.
    """
    for value in (box.length, box.width, box.height, box.substrate, dweller.size):
        if value is not None and not 0 <= value < 1e5:
            raise ValueError("Measures of an enclosure are millimetres, from 0 up.")
    rules = _rules(dweller)
    if rules and dweller.size is None:
        return [
            Remark("size", "Its size is not on record, so the rules for the enclosure cannot be judged.", "", False)
        ]
    return [remark for rule in rules if (remark := rule(box, dweller)) is not None]


def _rules(dweller: Dweller):  # type: ignore[no-untyped-def]  # a tuple of the functions below
    if dweller.group in (Group.MANTIS, Group.STICK_INSECT):
        return (_hanging,)
    if dweller.group is Group.MILLIPEDE:
        return (_soil,)
    if dweller.group in (Group.TARANTULA, Group.WHIP_SPIDER) and not dweller.by_body:
        if dweller.lifestyle is Lifestyle.ARBOREAL:
            return (_climbing,)
        if dweller.group is Group.TARANTULA and dweller.lifestyle in SETTLED:
            burrow = (_burrow,) if dweller.lifestyle is Lifestyle.FOSSORIAL else ()
            return (_floor, _fall, *burrow)
    return ()


def _short(what: str, have: float | None, want: float, rule: str, rests_on: str) -> Remark | None:
    """The remark of a measure that should be at least `want`."""
    if have is None:
        return Remark(rule, f"{what} is not on record; it should be at least {want:.0f} mm.", rests_on, broken=False)
    if have >= want:
        return None
    return Remark(rule, f"{what} is {have:.0f} mm, and should be at least {want:.0f} mm.", rests_on)


def _floor(box: Box, dweller: Dweller) -> Remark | None:
    """Three leg spans long and two wide."""
    assert dweller.size is not None
    long = max(box.length, box.width) if box.length is not None and box.width is not None else box.length
    wide = min(box.length, box.width) if box.length is not None and box.width is not None else box.width
    return _short("The floor’s length", long, FLOOR_LENGTH * dweller.size, "three leg spans long", PAGES) or _short(
        "The floor’s width", wide, FLOOR_WIDTH * dweller.size, "two leg spans wide", PAGES
    )


def _fall(box: Box, dweller: Dweller) -> Remark | None:
    """A heavy ground dweller that climbs the glass and falls may burst its abdomen."""
    assert dweller.size is not None
    if dweller.stage is Stage.YOUNG or dweller.size < HEAVY_FROM_MM:
        return None
    most = min(FALL_SPANS * dweller.size, FALL_MM)
    free = box.free_height
    if free is None:
        missing = "height" if box.height is None else "substrate depth"
        sentence = f"The {missing} is not on record; from substrate to lid it should be {most:.0f} mm at most."
        return Remark("free fall", sentence, PRACTICE, broken=False)
    if free <= most:
        return None
    sentence = f"It could fall {free:.0f} mm; for a heavy ground dweller of this size {most:.0f} mm is the most."
    return Remark("free fall", sentence, PRACTICE)


def _burrow(box: Box, dweller: Dweller) -> Remark | None:
    """A burrower needs depth."""
    assert dweller.size is not None
    want = min(BURROW_SPANS * dweller.size, BURROW_MM)
    return _short("The substrate", box.substrate, want, "depth to burrow", PRACTICE)


def _climbing(box: Box, dweller: Dweller) -> Remark | None:
    """A tree dweller needs height."""
    assert dweller.size is not None
    return _short("The height", box.height, CLIMB_SPANS * dweller.size, "two leg spans high", PRACTICE)


def _hanging(box: Box, dweller: Dweller) -> Remark | None:
    """It hangs head down to molt, and needs its skin’s length below and room beside."""
    assert dweller.size is not None
    high = box.height if box.substrate is None else box.free_height
    tall = _short("The height to hang free", high, HANG_HEIGHT * dweller.size, "three body lengths to hang", PRACTICE)
    if tall is not None or dweller.group is Group.STICK_INSECT:
        return tall
    sides = [side for side in (box.length, box.width) if side is not None]
    wide = min(sides) if len(sides) == 2 else None
    return _short("The width", wide, HANG_WIDTH * dweller.size, "two body lengths wide", PRACTICE)


def _soil(box: Box, dweller: Dweller) -> Remark | None:
    """A millipede molts in the soil."""
    assert dweller.size is not None
    return _short("The soil", box.substrate, dweller.size, "a body length of soil to molt in", PRACTICE)
