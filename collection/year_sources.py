"""What the bottom app tells of a year: who came and went, deaths, molts and growth, money."""

from __future__ import annotations

from collections import Counter, defaultdict
from datetime import date, timedelta
from decimal import Decimal
from statistics import median

from django.db.models import Count, Q, Sum

from collection import yearbook
from collection.dates import say_date
from collection.models import Death, Departure, House, How, Molt, Specimen, SpecimenKind
from collection.models.events import DeathCause
from collection.wording import plural
from collection.yearbook import Section

PASSED_ON = Departure.Kind.PASSED_ON.value
LEAST_PAIRS = 2  # growth by a single pair of molts is told of nobody


def here_on(day: date) -> int:
    """How many single animals were in the house at the end of a day."""
    came = Specimen.objects.filter(kind=SpecimenKind.SINGLE.value).filter(
        Q(acquired_earliest__lte=day) | Q(acquired_earliest__isnull=True, entered_at__date__lte=day)
    )
    dead = Death.objects.filter(latest__lte=day).values("specimen")
    left = Departure.objects.filter(kind=PASSED_ON, on__lte=day).values("specimen")
    return came.exclude(pk__in=dead).exclude(pk__in=left).count()


@yearbook.register("animals", 10)
def animals(first: date, last: date) -> Section | None:
    """Who came, was born, was passed on and died."""
    came = Specimen.objects.filter(kind=SpecimenKind.SINGLE.value, acquired_earliest__range=(first, last))
    ways = dict(came.order_by().values_list("how").annotate(n=Count("pk")))
    single = {"specimen__kind": SpecimenKind.SINGLE.value}
    left = Departure.objects.filter(kind=PASSED_ON, on__range=(first, last), **single).count()
    died = Death.objects.filter(earliest__range=(first, last), **single).count()
    if not (ways or left or died):
        return None
    words = {How.BRED.value: "bred here", "": "came, nobody wrote how"}
    rows = [(str(words.get(how, dict(How.choices).get(how, how))), str(n)) for how, n in sorted(ways.items())]
    rows += [("passed on", f"−{left}")] * bool(left) + [("died", f"−{died}")] * bool(died)
    before, after = here_on(first - timedelta(days=1)), here_on(last)
    end = "at the end of it" if (last.month, last.day) == (12, 31) else f"on {say_date(last, last)}"
    says = f"{plural(before, 'animal')} when the year began, {after} {end}."
    return Section("Who came and went", says, ("single animals", "number"), tuple(rows))


@yearbook.register("deaths", 20)
def deaths(first: date, last: date) -> Section | None:
    """Deaths by cause, the most first."""
    found = Death.objects.filter(earliest__range=(first, last)).order_by()
    causes = sorted(found.values_list("cause").annotate(n=Count("pk")), key=lambda row: (-row[1], row[0]))
    if not causes:
        return None
    names = dict(DeathCause.choices)
    number = sum(n for _, n in causes)
    unknown = dict(causes).get(DeathCause.UNKNOWN.value, 0)
    says = f"{plural(number, 'animal')} died" + (f"; of {unknown} nobody knows why." if unknown else ".")
    return Section("Deaths", says, ("cause", "number"), tuple((str(names.get(c, c)), str(n)) for c, n in causes))


@yearbook.register("molts", 30)
def molts(first: date, last: date) -> Section | None:
    """Molts by taxon, and the growth at each where two neighbouring skins were measured."""
    found = Molt.objects.filter(earliest__range=(first, last))
    names = ("specimen__taxon__name",)
    counted = found.order_by().values_list(*names).annotate(n=Count("pk"), animals=Count("specimen", distinct=True))
    rows = sorted(counted, key=lambda row: (-row[1], row[0]))
    if not rows:
        return None
    ratios = _growth(first, last)
    table = tuple((name, str(n), str(animals), _say_growth(ratios[name])) for name, n, animals in rows)
    number, who = sum(n for _, n, _ in rows), sum(animals for *_, animals in rows)
    says = f"{plural(number, 'molt')} of {plural(who, 'animal')}. Growth is the middle step from one skin to the next."
    return Section("Molts and growth", says, ("taxon", "molts", "animals", "growth at a molt"), table, taxa=True)


def _growth(first: date, last: date) -> dict[str, list[float]]:
    """By taxon, each leg span of the year over the one of the molt before; a gap in the record is no step."""
    grown = Molt.objects.filter(earliest__range=(first, last), leg_span_mm__isnull=False).values("specimen")
    columns = ("specimen_id", "specimen__taxon__name", "earliest", "leg_span_mm")
    rows = Molt.objects.filter(specimen__in=grown, earliest__lte=last).order_by("specimen_id", "earliest", "id")
    ratios: dict[str, list[float]] = defaultdict(list)
    before: tuple[int, float | None] = (0, None)
    for animal, taxon, day, size in rows.values_list(*columns):
        if before[0] == animal and before[1] and size and day >= first:
            ratios[taxon].append(size / before[1])
        before = (animal, size)
    return ratios


def _say_growth(ratios: list[float]) -> str:
    if len(ratios) < LEAST_PAIRS:
        return ""
    return f"{(median(ratios) - 1) * 100:+.0f} % ({plural(len(ratios), 'step')})".replace("-", "−")


@yearbook.register("money", 90)
def money(first: date, last: date) -> Section | None:
    """What animals cost, and what they brought."""
    bought = Specimen.objects.filter(acquired_earliest__range=(first, last), price__gt=0)
    sold = Departure.objects.filter(kind=PASSED_ON, on__range=(first, last), price__gt=0)
    cost = bought.aggregate(n=Count("pk"), total=Sum("price"))
    income = sold.aggregate(n=Count("pk"), total=Sum("price"))
    if not (cost["n"] or income["n"]):
        return None
    unit = House.money()
    spent, earned = cost["total"] or Decimal(0), income["total"] or Decimal(0)
    rows = (
        ("animals bought", str(cost["n"]), say_money(spent, unit)),
        ("animals passed on for a price", str(income["n"]), say_money(earned, unit)),
    )
    went, came = say_money(spent, unit), say_money(earned, unit)
    says = f"{went} went out for animals, {came} came in; who has no price counts for nothing."
    return Section("Money", says, ("what", "number", "sum"), rows)


def say_money(amount: Decimal, unit: str) -> str:
    """An amount with its currency, as far as known; whole sums without cents."""
    text = f"{amount:,.0f}" if amount == amount.to_integral_value() else f"{amount:,.2f}"
    return f"{text} {unit}".strip().replace(",", "\u202f")


def years() -> list[int]:
    """The years of which something is on record, the latest first."""
    found: Counter[int] = Counter()
    for days in (
        Specimen.objects.dates("acquired_earliest", "year"),
        Death.objects.dates("earliest", "year"),
        Molt.objects.dates("earliest", "year"),
    ):
        found.update(day.year for day in days)
    return sorted(found, reverse=True)
