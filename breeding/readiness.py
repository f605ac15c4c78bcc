"""Whether an animal can be paired on one day: what is met, what is missing, until when, and how much time is left.

Days are whole days, months of the trade are 30.4375 days. All limits are common practice or assumptions of this
program (marked so in the sentence where it is the program's own); nobody has measured them. A missing record is never
taken for a fulfilled condition: it is said to be unknown. Conditions that are not `needed` are advice.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum

from breeding import watchwords
from breeding.planning import LEAST_CHANCE
from collection.dates import say_date, say_days
from collection.sexing import Verdict
from collection.stages import Group, Stage, stage_label

MONTH = 30.4375
FED_DAYS = 7  # common practice: hungry females attack more
WATER_DAYS = 7  # assumption: a dish filled so lately still stands
REST_DAYS = 14  # common practice: a male rests so long after his last molt, unless he has built a sperm web
AGEING_DAYS = 183  # assumption: six months after it his time runs out
LATE_DAYS = 304  # assumption: ten months after it he is spent
AGAIN_DAYS = 28  # common practice: one to three meetings, one to four weeks apart
COOLED_DAYS = 365
CLOCKED = {Group.TARANTULA}  # the figures above are the trade's for tarantulas; of others nothing is known
WEB_BUILDERS = {Group.TARANTULA, Group.TRUE_SPIDER}
FEMALE = {Verdict.FEMALE, Verdict.PROBABLY_FEMALE}
MALE = {Verdict.MALE, Verdict.PROBABLY_MALE}

WINTER = "eight to twelve weeks of a real winter, 12 to 18 °C"
COOL = "two to four months cooler and drier, 16 to 20 °C, then warm and wet"
COOLING = {"Grammostola": WINTER, "Aphonopelma": WINTER, "Brachypelma": COOL}
WETTING = "a wet season after a drier one"
TRIGGERS = {  # common practice of the trade, by genus
    "Pterinochilus": "moist, then drying out",
    "Ceratogyrus": "moist, then drying out",
    "Harpactira": "moist, then drying out",
    "Poecilotheria": "a dry rest, then wet",
    "Tliltocatl": "a mild dry season",
    "Lasiodora": "a mild dry season",
    "Nhandu": "a mild dry season",
    "Acanthoscurria": "a mild dry season",
    "Theraphosa": WETTING,
    "Pamphobeteus": WETTING,
    "Xenesthis": WETTING,
    "Megaphobema": WETTING,
}


class State(StrEnum):
    """How a condition stands."""

    MET = "met"
    WAIT = "wait"  # it comes by itself, on a day that is known
    UNKNOWN = "unknown"  # the records do not say
    MISSING = "missing"


@dataclass(frozen=True)
class Condition:
    """One condition: its name, how it stands, why, and until when (met) or from when on (wait)."""

    name: str
    state: State
    sentence: str
    until: date | None = None
    needed: bool = True
    record: str = "animal"  # which page of the animal holds what it rests on


@dataclass(frozen=True)
class Held:
    """Something that stands in the way for a while: in words, without a full stop, and its end when that is known."""

    words: str
    until: date | None


@dataclass(frozen=True)
class Facts:
    """What the records say of one animal on one day; None where they say nothing."""

    today: date
    group: Group
    genus: str
    sex: Verdict
    chance: float  # that the sex is the one it is taken for
    stage: Stage
    last_molt: date | None = None
    molt: tuple[date, date] | None = None  # the next one, between these days with 80 %
    held: tuple[Held, ...] = ()
    meal: date | None = None
    water: date | None = None
    cooled: tuple[date, date | None] | None = None
    lent: bool = False

    def __post_init__(self) -> None:
        """Refuse what cannot be."""
        if not 0 <= self.chance <= 1:
            raise ValueError("The chance of a sex lies between 0 and 1.")
        if self.molt is not None and self.molt[0] > self.molt[1]:
            raise ValueError("The window of the next molt ends before it begins.")
        for day in (self.last_molt, self.meal, self.water):
            if day is not None and day > self.today:
                raise ValueError(f"{day} lies after the day that is asked for.")


@dataclass(frozen=True)
class FemaleFacts(Facts):
    """What is known of a female."""

    sac_months: tuple[float, float] | None = None  # pairing to sac, of the taxon
    before_molt: float | None = None  # chance that a sac would come before her molt, were she paired today
    paired: date | None = None  # the last pairing that may have worked, with no molt and no sac since


@dataclass(frozen=True)
class MaleFacts(Facts):
    """What is known of a male."""

    mature_since: date | None = None
    web: date | None = None  # his last sperm web
    met: date | None = None  # his last meeting


@dataclass(frozen=True)
class Readiness:
    """All conditions of one animal."""

    today: date
    conditions: tuple[Condition, ...]

    @property
    def state(self) -> State:
        """The worst of what is needed."""
        order = list(State)
        needed = [one.state for one in self.conditions if one.needed]
        return max(needed, key=order.index, default=State.UNKNOWN)

    @property
    def lacking(self) -> list[Condition]:
        """What is not met, what is needed first."""
        return sorted((one for one in self.conditions if one.state is not State.MET), key=lambda one: not one.needed)

    @property
    def met(self) -> list[Condition]:
        """What is met."""
        return [one for one in self.conditions if one.state is State.MET]

    @property
    def ready_from(self) -> date | None:
        """The day on which the last known wait is over; None where something else is missing, or its end not known."""
        waits = [one.until for one in self.conditions if one.needed and one.state is State.WAIT]
        if self.state is State.MET:
            return self.today
        return None if self.state is not State.WAIT or None in waits else max(day for day in waits if day)

    @property
    def ends(self) -> date | None:
        """The last day of the time that is left, by what is met."""
        return min((one.until for one in self.conditions if one.state is State.MET and one.until), default=None)

    @property
    def sentence(self) -> str:
        """The whole in one sentence."""
        if self.state is State.MISSING:
            return "Not now: " + _listed(one.name for one in self.lacking if one.needed and one.state is State.MISSING)
        if self.state is State.UNKNOWN:
            return "Not known: " + _listed(
                one.name for one in self.lacking if one.needed and one.state is State.UNKNOWN
            )
        left = f"; time until {say_date(self.ends, self.today)}" if self.ends else ""
        if self.state is State.WAIT:
            return f"Ready from {say_date(self.ready_from, self.today)}{left}." if self.ready_from else "Wait."
        return (
            f"Ready{left}."
            if not self.lacking
            else f"Ready{left}; to see to: {_listed(one.name for one in self.lacking)}"
        )


def _listed(names: Iterable[str]) -> str:
    return ", ".join(names) + "."


def of_female(facts: FemaleFacts) -> Readiness:
    """The readiness of a female."""
    found = [
        _sex(facts, FEMALE, "female"),
        _grown(facts),
        *_held(facts),
        _molted(facts),
        *_next_molt(facts),
        *_paired(facts),
        _fed(facts),
        *_season(facts),
        _water(facts),
    ]
    return Readiness(facts.today, tuple(found))


def of_male(facts: MaleFacts) -> Readiness:
    """The readiness of a male."""
    found = [
        _sex(facts, MALE, "male"),
        _grown(facts) if facts.group not in CLOCKED else _mature(facts),
        *_held(facts),
        *_rested(facts),
        *_web(facts),
        *_time_left(facts),
        _fed(facts),
        _water(facts),
    ]
    return Readiness(facts.today, tuple(found))


def _sex(facts: Facts, wanted: set[Verdict], word: str) -> Condition:
    chance = f"{facts.chance * 100:.0f} %" if facts.chance < 0.995 else "over 99 %"
    if facts.sex in wanted:
        return Condition("sex", State.MET, f"The evidence says {word}, with {chance}.", record="evidence")
    return Condition("sex", State.MISSING, f"The evidence does not say {word} yet ({chance}).", record="evidence")


def _grown(facts: Facts) -> Condition:
    if facts.stage in {Stage.ADULT, Stage.MATURE_MALE}:
        return Condition("maturity", State.MET, "Grown.")
    if facts.stage is Stage.UNKNOWN:
        return Condition("maturity", State.UNKNOWN, "Not known to be mature; a size or a stage seen would tell.")
    word = stage_label(facts.group, facts.stage)
    nearer = ""
    if facts.stage is Stage.SUBADULT and facts.molt:
        first, last = (say_date(day, facts.today) for day in facts.molt)
        nearer = f" The next molt, perhaps the one to maturity, falls between {first} and {last}."
    return Condition("maturity", State.MISSING, f"Still {word}.{nearer}")


def _mature(facts: MaleFacts) -> Condition:
    if facts.stage is Stage.MATURE_MALE:
        since = f" since {say_date(facts.mature_since, facts.today)}" if facts.mature_since else ""
        return Condition("maturity", State.MET, f"Mature{since}.")
    if facts.stage in {Stage.ADULT, Stage.UNKNOWN}:
        return Condition("maturity", State.MISSING, "No bulbs, no hooks on record; his last molt would show them.")
    return _grown(facts)


def _held(facts: Facts) -> list[Condition]:
    found = []
    for hold in facts.held:
        until = f", until {say_date(hold.until, facts.today)}" if hold.until else ""
        state = State.WAIT if hold.until else State.MISSING
        words = f"{hold.words[:1].upper()}{hold.words[1:]}{until}."
        found.append(Condition("nothing in the way", state, words, hold.until, record="holds"))
    if facts.lent:
        found.append(Condition("here", State.MISSING, "On loan elsewhere; ask to have it back."))
    return found


def _molted(facts: FemaleFacts) -> Condition:
    if facts.last_molt is None:
        return Condition("last molt", State.UNKNOWN, "No molt of hers on record.", needed=False, record="molts")
    ago = say_days((facts.today - facts.last_molt).days)
    return Condition("last molt", State.MET, f"Molted {say_date(facts.last_molt, facts.today)}, {ago}.", record="molts")


def _next_molt(facts: FemaleFacts) -> list[Condition]:
    """Her next molt against the time from pairing to sac. The last day is the taxon's longest wait before it."""
    if facts.group not in watchwords.MOLT_ON:
        return []  # grown, and molts no more
    brood = watchwords.words_of(facts.group).brood
    if facts.sac_months is None:
        if facts.group not in CLOCKED:
            return []
        words = "No figure from pairing to sac for this taxon, so her next molt cannot be weighed."
        return [Condition("time before her molt", State.UNKNOWN, words, needed=False, record="taxon")]
    if facts.molt is None or facts.before_molt is None:
        words = f"Her next molt is not foretold, so nobody can say whether {brood} would come before it."
        return [Condition("time before her molt", State.UNKNOWN, words, needed=False, record="molts")]
    low, high = facts.sac_months
    opens, closes = (say_date(day, facts.today) for day in facts.molt)
    between = f"since {opens}, until {closes}" if facts.molt[0] < facts.today else f"between {opens} and {closes}"
    window = f"Her molt is expected {between}, {brood} {low:g} to {high:g} months after a pairing"
    by = facts.molt[0] - timedelta(days=round(high * MONTH))
    chance = f"{facts.before_molt * 100:.0f} % that {brood} would come first, if it comes at all"
    if facts.before_molt < LEAST_CHANCE:
        return [Condition("time before her molt", State.MISSING, f"{window}: only {chance}.", record="molts")]
    if by >= facts.today:
        words = f"{window}: {chance}. Pair her by {say_date(by, facts.today)} to have all of that time."
        return [Condition("time before her molt", State.MET, words, by, record="molts")]
    return [Condition("time before her molt", State.MET, f"{window}: late in her cycle, {chance}.", record="molts")]


def _paired(facts: FemaleFacts) -> list[Condition]:
    if facts.paired is None:
        return []
    on, again = say_date(facts.paired, facts.today), facts.paired + timedelta(days=AGAIN_DAYS)
    if facts.today <= again:
        words = f"Paired {on} and not molted since. Another meeting within four weeks is usual."
        return [Condition("not paired yet", State.MET, words, again, record="pairing")]
    molt = ", or for her molt" if facts.group in watchwords.MOLT_ON else ""
    words = f"Paired {on} and not molted since: wait for {watchwords.words_of(facts.group).brood}{molt}."
    return [Condition("not paired yet", State.MISSING, words, record="pairing")]


def _fed(facts: Facts) -> Condition:
    if facts.meal is None:
        return Condition("fed", State.UNKNOWN, "No meal on record.", needed=False, record="meals")
    days = (facts.today - facts.meal).days
    words = f"Last meal taken {say_days(days)}"
    if days <= FED_DAYS:
        until = facts.meal + timedelta(days=FED_DAYS)
        return Condition(
            "fed", State.MET, f"{words}; within a week until {say_date(until, facts.today)}.", None, False, "meals"
        )
    return Condition("fed", State.MISSING, f"{words}; feed in the week before a meeting.", needed=False, record="meals")


def _season(facts: FemaleFacts) -> list[Condition]:
    """The cue of the genus, where common practice knows one; only a cooling is kept on record."""
    cooling = COOLING.get(facts.genus)
    if cooling is None:
        trigger = TRIGGERS.get(facts.genus)
        words = f"Usual for the genus: {trigger}. Nothing of it is kept on record."
        return [Condition("season", State.UNKNOWN, words, needed=False, record="taxon")] if trigger else []
    usual = f"usual for the genus: {cooling}"
    begun, ended = facts.cooled or (None, None)
    if begun is None or (ended is not None and (facts.today - ended).days > COOLED_DAYS):
        words = f"No cooling on record in the last year; {usual}."
        return [Condition("season", State.MISSING, words, needed=False, record="holds")]
    if begun > facts.today:
        words = f"A cooling is planned from {say_date(begun, facts.today)} on; {usual}."
        return [Condition("season", State.WAIT, words, ended, False, "holds")]
    if ended is None or ended > facts.today:
        end = f" until {say_date(ended, facts.today)}" if ended else ""
        words = f"Cooling since {say_date(begun, facts.today)}{end}; {usual}."
        return [Condition("season", State.WAIT, words, ended, False, "holds")]
    words = f"Cooled from {say_date(begun, facts.today)} to {say_date(ended, facts.today)}; {usual}."
    return [Condition("season", State.MET, words, needed=False, record="holds")]


def _water(facts: Facts) -> Condition:
    if facts.water is None:
        return Condition("water", State.UNKNOWN, "No water on record.", needed=False, record="enclosure")
    days = (facts.today - facts.water).days
    state = State.MET if days <= WATER_DAYS else State.MISSING
    more = "" if state is State.MET else "; fill the dish before they meet"
    return Condition("water", state, f"Watered {say_days(days)}{more}.", needed=False, record="enclosure")


def _rested(facts: MaleFacts) -> list[Condition]:
    since = facts.mature_since
    if facts.group not in CLOCKED or facts.stage is not Stage.MATURE_MALE or since is None:
        return []
    from_ = since + timedelta(days=REST_DAYS)
    if facts.web is not None and facts.web >= since:
        return []
    if facts.today < from_:
        words = f"Molted to maturity {say_date(since, facts.today)}; he rests two weeks, or until his first sperm web."
        return [Condition("rest", State.WAIT, words, from_, record="molts")]
    return [Condition("rest", State.MET, "More than two weeks since his last molt.", record="molts")]


def _web(facts: MaleFacts) -> list[Condition]:
    """A web since his last molt, and since his last meeting: he is charged. Many are built where nobody looks."""
    if facts.group not in WEB_BUILDERS or (facts.group in CLOCKED and facts.stage is not Stage.MATURE_MALE):
        return []
    since, web = facts.mature_since, facts.web
    if web is None or (since is not None and web < since):
        words = "No sperm web on record since his last molt; many are built unseen."
        return [Condition("sperm web", State.UNKNOWN, words, needed=False, record="webs")]
    on = f"Last sperm web {say_date(web, facts.today)}"
    if facts.met is not None and web < facts.met:
        words = f"{on}, before his meeting of {say_date(facts.met, facts.today)}; give him time for another."
        return [Condition("sperm web", State.MISSING, words, needed=False, record="webs")]
    return [Condition("sperm web", State.MET, f"{on}: he is charged.", needed=False, record="webs")]


def _time_left(facts: MaleFacts) -> list[Condition]:
    """Two weeks to six months after his last molt are taken for his window, ten months for its end: assumptions."""
    if facts.group not in CLOCKED or facts.stage is not Stage.MATURE_MALE:
        return []
    if facts.mature_since is None:
        words = "The day of his last molt is not on record, so nobody can say how long he has."
        return [Condition("time left", State.UNKNOWN, words, needed=False, record="molts")]
    ageing, late = (facts.mature_since + timedelta(days=days) for days in (AGEING_DAYS, LATE_DAYS))
    if facts.today > late:
        words = "Mature for more than ten months: spent, by our assumption. If he still builds webs, he may be tried."
        return [Condition("time left", State.MISSING, words, record="molts")]
    if facts.today > ageing:
        end = say_date(late, facts.today)
        words = f"Mature for more than six months: ageing. By our assumption his time ends around {end}."
        return [Condition("time left", State.MET, words, late, record="molts")]
    words = f"In his best months until {say_date(ageing, facts.today)}, by our assumption; ten months at most."
    return [Condition("time left", State.MET, words, ageing, record="molts")]
