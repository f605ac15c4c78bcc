"""What the sac watch says, by group and phase: what is awaited, what to look for, what to do now."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from breeding.sacwatch import SacOutlook
from breeding.signs import NOTHING
from collection.dates import say_date
from collection.stages import Group, Term


class Phase(Term):
    """Where the wait of a paired female stands."""

    GUARDING = "guarding", "with her brood"
    EARLY = "early", "too early"
    OPEN = "open", "window open"
    LAST_MEAL = "last_meal", "signs"
    CLOSED = "closed", "closed in"
    MOLT = "molt", "molt likelier"
    OVER = "over", "window over"


@dataclass(frozen=True)
class WatchWords:
    """A group's own words: what she brings, with its article; how she is fed until then; what to look for."""

    brood: str
    early: str
    look_for: str
    last_meal: str
    closed: str
    guard: str  # why she is left alone with her brood; takes the day
    with_her: int | None = None  # days the brood stays with her when nothing else is known; None: until it ends

    @property
    def noun(self) -> str:
        """What she brings, without its article."""
        return self.brood.removeprefix("a ").removeprefix("an ")


CULTURES = frozenset({Group.ISOPOD, Group.ROACH})  # kept by the hundred: nobody is watched
LEFT_ALONE = "Leave her alone and keep water there."
SPIDER = WatchWords(
    "a sac",
    "Fatten her until she refuses.",
    "look for webbing or a closed retreat",
    "One more meal if she comes for it, then leave her alone and keep the dish full.",
    "She has closed herself in. Do not open it; water through the mesh and leave her alone.",
    "Guarding the sac of {}",
)
WORDS = {
    Group.TARANTULA: SPIDER,
    Group.TRUE_SPIDER: SPIDER,
    Group.SCORPION: WatchWords(
        "a birth",
        "Feed her as long as she takes it and keep the warmth even: she carries for months.",
        "look for a swollen body with pale young showing between the plates",
        f"Birth may be near: no large prey left in with her. {LEFT_ALONE}",
        f"She has shut herself in. {LEFT_ALONE}",
        "Carrying her young since {}",
        with_her=19,  # R. rochai disperses 8–19 days after birth (J. Arachnol. 36:476–479); of others nothing is known
    ),
    Group.WHIP_SPIDER: WatchWords(
        "an egg sac",
        "Feed her well now: she eats little while she carries.",
        "look for a swollen body",
        f"Leave no prey in with her. {LEFT_ALONE}",
        f"She has withdrawn. {LEFT_ALONE}",
        "Carrying her eggs since {}; disturbed, she drops or eats them",
    ),
    Group.CENTIPEDE: WatchWords(
        "a clutch",
        "Feed her well now: she stops eating while she guards.",
        "look for a chamber under bark or in the soil",
        f"Leave no prey in with her. {LEFT_ALONE}",
        "She has closed her chamber. Do not dig or lift the bark: disturbed, she may eat the brood.",
        "Guarding her clutch since {}; disturbed, she may eat it",
    ),
    Group.MANTIS: WatchWords(
        "an ootheca",
        "Feed her all she takes: several oothecae come of one mating, each takes its food.",
        "give her something rough to lay on",
        "She may lay any day: give her something rough to lay on, and leave her alone while she does.",
        f"She has withdrawn. {LEFT_ALONE}",
        "With her ootheca of {}",
    ),
    Group.STICK_INSECT: WatchWords(
        "eggs", "Keep fresh leaves there.", "look for a swollen abdomen, and give her sand if she lays into it",
        "Look for eggs on the floor.", LEFT_ALONE, "With her eggs of {}",
    ),
}  # fmt: skip
OTHERS = WatchWords(
    "eggs", "Feed as usual.", "look for a swollen abdomen", LEFT_ALONE, LEFT_ALONE, "With her eggs since {}"
)


def words_of(group: Group) -> WatchWords:
    """Return the words of a group; general ones where it has none of its own."""
    return WORDS.get(group, OTHERS)


def phase_of(outlook: SacOutlook, today: date, guarding: bool = False) -> Phase:
    """Return where the wait stands: by what she guards, the window, the signs and the chances, in that order."""
    signs = set(outlook.signs)
    if guarding:
        return Phase.GUARDING
    if today > outlook.closes:
        return Phase.OVER
    if "closed" in signs:
        return Phase.CLOSED
    if {"webbing", "refusing", "swollen"} & signs and today >= outlook.opens - EARLY_SIGNS:
        return Phase.LAST_MEAL
    if today < outlook.opens:
        return Phase.EARLY
    return Phase.MOLT if outlook.molt_first > outlook.ever.first_a else Phase.OPEN


EARLY_SIGNS = timedelta(days=30)  # assumption: signs are heeded so long before the window opens


def advice(outlook: SacOutlook, today: date, group: Group, guarding: bool = False) -> str:
    """Return what to do now, in the words of the group."""
    words = words_of(group)
    nothing = "No sure sign yet." if set(outlook.signs) - {NOTHING} else "No sign yet."
    said = {
        Phase.GUARDING: f"{LEFT_ALONE} Another may follow of the same mating; the wait for it runs from this one.",
        Phase.OVER: f"The window is over. Expect a molt rather than {words.brood}, and pair again after it.",
        Phase.EARLY: f"Too early. {words.early} The window opens on {say_date(outlook.opens, today)}.",
        Phase.CLOSED: words.closed,
        Phase.LAST_MEAL: words.last_meal,
        Phase.MOLT: f"A molt is likelier than {words.brood}. Do not pair again before it.",
        Phase.OPEN: f"{nothing} Feed well and keep her undisturbed; {words.look_for}.",
    }
    over_unmolting = f"The window is over. Do not count on {words.brood}; she may be paired again."
    phase = phase_of(outlook, today, guarding)
    return over_unmolting if phase is Phase.OVER and group not in MOLT_ON else said[phase]


MOLT_ON = {Group.TARANTULA, Group.WHIP_SPIDER, Group.CENTIPEDE, Group.MILLIPEDE, Group.OTHER}  # grown, and molt again
