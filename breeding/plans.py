"""The pairing plan: candidates, what each pair is worth, the best choice, and a reason for everything."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from django.db import transaction

from breeding import kin, lines, pairings, planning, sacwatch, watchwords
from breeding.candidates import Candidate, candidates
from breeding.kin import Family
from breeding.kinship.words import percent, say_inbreeding
from breeding.models import Pairing
from breeding.planning import Aim, Outcome, Pair, Prospect
from breeding.sacwatch import TaxonRecord
from breeding.services import check_pair
from breeding.wishes import Wish
from collection import dues, receipts
from collection.dates import say_date
from collection.models import Specimen
from collection.services import Refused
from collection.stages import Group

TEMPER_WORDS = {"calm": "calm with males", "mixed": "now calm, now not", "fierce": "fierce to males"}


@dataclass(frozen=True)
class Option:
    """A pair that could be made."""

    female: Specimen
    male: Specimen
    prospect: Prospect
    worth: float
    why: list[str]
    brood: str  # what she would bring, with its article
    fixed: bool = False
    fix: str = ""  # addresses of the same plan with this pair fixed, forbidden, or left to the plan again
    forbid: str = ""
    free: str = ""


@dataclass(frozen=True)
class Choice:
    """A pair of the plan, with the other males she could have."""

    option: Option
    others: list[Option]


@dataclass(frozen=True)
class Refusal:
    """An animal or a pair that is not in the plan, and why."""

    who: str
    animals: tuple[Specimen, ...]
    why: str
    address: str = ""  # a way to change it, and its words
    offer: str = ""


@dataclass(frozen=True)
class Plan:
    """The plan for one wish."""

    wish: Wish
    choices: list[Choice]
    idle: list[Refusal]  # could be paired, and are not
    refused: list[Refusal]
    forbidden: list[Option]
    totals: list[tuple[Aim, Outcome, str]]  # of every aim, with the address of that plan
    females: int
    males: int
    problem: str = ""

    @property
    def outcome(self) -> Outcome:
        """The totals of this plan."""
        return next(total for aim, total, _ in self.totals if aim is self.wish.aim)


def build(wish: Wish) -> Plan:
    """Work out the plan of a wish."""
    rows = candidates(wish.day, wish.taxa, tuple(wish.home))
    bench = _Bench(rows, wish)
    plans, problem = {}, ""
    for aim in Aim:
        try:
            plans[aim] = bench.choose(aim)
        except ValueError as error:
            problem = str(error)
            plans[aim] = planning.choose(bench.prospects, aim, male_limit=wish.male_limit)
    males = len({male for _, male in bench.prospects})
    totals = [
        (aim, planning.outcome(plan, bench.prospects, males), wish.aiming(aim).query()) for aim, plan in plans.items()
    ]
    chosen = plans[wish.aim]
    return Plan(
        wish=wish,
        choices=[Choice(bench.option(pair), bench.others(pair, chosen)) for pair in bench.sorted(chosen)],
        idle=bench.idle(chosen),
        refused=bench.refused,
        forbidden=[bench.option(pair) for pair in sorted(wish.forbidden) if pair in bench.prospects],
        totals=totals,
        females=sum(row.female and row.ready for row in rows),
        males=sum(not row.female and row.ready for row in rows),
        problem=problem,
    )


class _Bench:
    """All candidates of a plan side by side."""

    def __init__(self, rows: Sequence[Candidate], wish: Wish) -> None:
        self.rows, self.wish = rows, wish
        self.refused: list[Refusal] = []
        self.prospects: dict[Pair, Prospect] = {}
        self.records = pairings.taxon_records({row.specimen.taxon_id for row in rows if row.female}, wish.today)
        self.before = {row.specimen.pk: self._before(row) for row in rows if row.female and row.ready}
        for row in rows:
            self._refuse(row)
        self.females = [row for row in rows if row.female and row.ready]
        self.males = [row for row in rows if not row.female and row.ready]
        self.by_pk = {row.specimen.pk: row for row in (*self.females, *self.males)}
        self._weigh()

    def choose(self, aim: Aim) -> list[Pair]:
        """The best plan under an aim, with what is fixed and forbidden."""
        fixed = [pair for pair in self.wish.fixed if pair in self.prospects]
        if len(fixed) < len(self.wish.fixed):
            raise ValueError("A pair that was fixed is not possible any more; the plan is made without what was fixed.")
        return planning.choose(
            self.prospects, aim, forced=fixed, forbidden=self.wish.forbidden, male_limit=self.wish.male_limit
        )

    def sorted(self, plan: Iterable[Pair]) -> list[Pair]:
        """By taxon, then by her code."""
        order = {row.specimen.pk: number for number, row in enumerate(self.rows)}
        return sorted(plan, key=lambda pair: (order[pair[0]], order[pair[1]]))

    def option(self, pair: Pair) -> Option:
        """A pair with its reasons and what can be done about it."""
        wish = self.wish
        return Option(
            female=self.by_pk[pair[0]].specimen,
            male=self.by_pk[pair[1]].specimen,
            prospect=self.prospects[pair],
            worth=self.prospects[pair].worth(wish.aim),
            why=self._why(pair),
            brood=watchwords.words_of(Group(self.by_pk[pair[0]].specimen.taxon.group)).brood,
            fixed=pair in wish.fixed,
            fix=wish.fixing(pair).query(),
            forbid=wish.without(pair).query(),
            free=wish.freeing(pair).query(),
        )

    def others(self, pair: Pair, plan: Sequence[Pair]) -> list[Option]:
        """The other males of a female, the best first."""
        known = [other for other in self.prospects if other[0] == pair[0] and other not in plan]
        options = [self.option(other) for other in known if other not in self.wish.forbidden]
        return sorted(options, key=lambda option: (-option.worth, option.male.code))

    def idle(self, plan: Sequence[Pair]) -> list[Refusal]:
        """Who could be paired and is not, and why."""
        used = {one for pair in plan for one in pair}
        found = []
        for row in (*self.females, *self.males):
            pk = row.specimen.pk
            if pk not in used:
                mine = [pair for pair in self.prospects if pk in pair]
                found.append(Refusal(row.specimen.code, (row.specimen,), self._idle_why(row, mine)))
        return found

    def _idle_why(self, row: Candidate, mine: list[Pair]) -> str:
        partner = "male" if row.female else "female"
        if not mine:
            return f"no ready {partner} of its taxon and locality"
        if all(pair in self.wish.forbidden for pair in mine):
            return f"you have ruled out every {partner}"
        if all(self.prospects[pair].worth(self.wish.aim) <= 0 for pair in mine):
            return "every pair would risk more than it promises"
        return f"every {partner} is worth more in another pair, or is paired as often as allowed"

    def _before(self, row: Candidate) -> float:
        """The chance that a sac would come before her molt; where it is too small, she is refused."""
        female, day = row.specimen, self.wish.day
        chance, molt = pairings.sac_first(female, self.records.get(female.taxon_id, TaxonRecord()), day)
        if chance is None:
            row.notes.append("no figure from pairing to sac for this taxon, so her molt is not weighed")
            return 1.0
        if molt is None:
            if Group(female.taxon.group) in watchwords.MOLT_ON:
                row.notes.append("no molt of hers on record, so her next one is not weighed")
        elif chance < planning.LEAST_CHANCE:
            opens, closes = say_date(molt.begins, day), say_date(molt.ends, day)
            between = f"since {opens}, until {closes}" if molt.begins < day else f"between {opens} and {closes}"
            brood = watchwords.words_of(Group(female.taxon.group)).brood
            row.reasons.append(f"molt too near: expected {between}; {brood} would come before it in {_whole(chance)}")
        return chance

    def _refuse(self, row: Candidate) -> None:
        if row.reasons:
            only_lent = row.lent and row.reasons == ["on loan elsewhere"]
            self.refused.append(
                Refusal(
                    row.specimen.code,
                    (row.specimen,),
                    "; ".join(row.reasons),
                    self.wish.calling(row.specimen.pk).query() if only_lent else "",
                    "Plan as if it were home" if only_lent else "",
                )
            )

    def _weigh(self) -> None:
        """What each pair of one line is worth; pairs of one taxon that must not be are refused with the reason."""
        by_line: dict[tuple[int, str], list[Candidate]] = defaultdict(list)
        for male in self.males:
            by_line[male.line].append(male)
        family, means = self._kin()
        for female in self.females:
            for male in self.males:
                if male.specimen.taxon_id == female.specimen.taxon_id:
                    if male.line != female.line:
                        self._refuse_pair(female, male, _other_locality(female.specimen, male.specimen))
                    else:
                        self._weigh_pair(female, male, family, means, len(by_line[male.line]))

    def _kin(self) -> tuple[Family, dict[int, float]]:
        """All ancestors, and for each candidate its mean kinship with the living of its line."""
        wanted = lines.living_by_line({row.line for row in self.by_pk.values()})
        everybody = {pk for ids in wanted.values() for pk in ids} | set(self.by_pk)
        family = kin.family(everybody)
        means: dict[int, float] = {}
        for line, ids in wanted.items():
            own = [pk for pk, row in self.by_pk.items() if row.line == line]
            means.update(family.pedigree.mean_kinship(dict.fromkeys([*ids, *own])))
        return family, means

    def _weigh_pair(
        self, female: Candidate, male: Candidate, family: Family, means: dict[int, float], males: int
    ) -> None:
        f, m = female.specimen, male.specimen
        inbreeding = family.pedigree.kinship(f.pk, m.pk)
        if inbreeding > self.wish.limit + 1e-12:
            why = f"F of the young would be {percent(inbreeding)}, {say_inbreeding(inbreeding)}: above your limit"
            self._refuse_pair(female, male, why)
            return
        record = self.records.get(f.taxon_id, TaxonRecord())
        self.prospects[f.pk, m.pk] = Prospect(
            before_molt=min(self.before[f.pk], 1.0),
            success=sacwatch.success_chance(record, None),
            mean_kinship=(means[f.pk] + means[m.pk]) / 2,
            inbreeding=max(inbreeding, 0.0),
            temperament=planning.temperament(f.taxon.name, Group(f.taxon.group)),
            need=planning.need_of(males, m.standing.status == "loan_in"),
        )

    def _refuse_pair(self, female: Candidate, male: Candidate, why: str) -> None:
        who = f"{female.specimen.code} × {male.specimen.code}"
        self.refused.append(Refusal(who, (female.specimen, male.specimen), why))

    def _why(self, pair: Pair) -> list[str]:
        """A pair in sentences: the sac, the young, the male, and what else is known of the two."""
        one, female, male = self.prospects[pair], self.by_pk[pair[0]], self.by_pk[pair[1]]
        record = self.records.get(female.specimen.taxon_id, TaxonRecord())
        own = record.successes + record.failures
        basis = _basis(record.successes, own)
        others = round(1 / one.need) if one.need else 0
        needed = "he is the only one ready of his line" if one.need == 1 else f"{others} males of his line are ready"
        if male.specimen.standing.status == "loan_in":
            needed = "he is somebody else’s"
        group = Group(female.specimen.taxon.group)
        brood = watchwords.words_of(group).brood
        first = (
            f"{_whole(one.before_molt)} that {brood} comes before her molt × " if group in watchwords.MOLT_ON else ""
        )
        return [
            f"{first}{_whole(one.success)} that a pairing of the taxon brings {brood} ({basis}) = "
            f"{_whole(one.sac)} for {brood}.",
            f"Young: F {percent(one.inbreeding)}, {say_inbreeding(one.inbreeding)}; mean kinship with the line "
            f"{percent(one.mean_kinship)}.",
            f"Females of the taxon are {TEMPER_WORDS[one.temperament.value]}; {needed}.",
            *[f"{row.specimen.code}: {note}." for row in (female, male) for note in row.notes],
        ]


def _basis(brought: int, own: int) -> str:
    """What the chance of a pairing of the taxon rests on."""
    if not own:
        return "no pairing of yours to go by"
    if own == 1:
        return f"your one pairing of it {'did' if brought else 'did not'}"
    return f"{brought} of your {own} pairings of it did"


def _whole(chance: float) -> str:
    return f"{chance * 100:.0f} %"


def _other_locality(female: Specimen, male: Specimen) -> str:
    names = [f"“{one.locality}”" if one.locality.strip() else "locality unknown" for one in (female, male)]
    return f"another locality: {names[0]} and {names[1]}; two localities are never merged in one line"


def keep(pairs: Sequence[tuple[Specimen, Specimen]], day: date) -> list[Pairing]:
    """Make planned pairings of a plan; one that is planned for the two already gets the day of this plan."""
    if not pairs:
        raise Refused("No pair is ticked. Tick those that are to be planned.")
    made = []
    with transaction.atomic():
        for female, male in pairs:
            open_ones = Pairing.objects.filter(female=female, male=male, meetings__isnull=True, sacs__isnull=True)
            pairing = open_ones.first() or Pairing(female=female, male=male)
            if pairing.planned_for == day:
                continue
            pairing.planned_for = day
            check_pair(pairing)
            pairing.save()
            made.append(pairing)
        if not made:
            raise Refused("All of these are planned for that day already.")
        ids = [one.pk for pair in pairs for one in pair]
        dues.refresh(ids)
        number = f"{len(made)} pairing{'s' if len(made) > 1 else ''}"
        receipts.note(f"Planned {number} for {say_date(day)}", ids)
    return made
