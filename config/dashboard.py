"""The dashboard: what needs the keeper today, in walking order, from all three apps."""

from __future__ import annotations

from collections import Counter
from collections.abc import Container, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Any, NamedTuple

from django.core.paginator import Paginator
from django.db.models import Count, F, FilteredRelation, Q, QuerySet, Value
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe
from django.views.decorators.vary import vary_on_headers

from collection import attention, dues
from collection.attention import Action, DueKind, HouseItem, Said, Urgency
from collection.htmx import wants_fragment
from collection.models import Death, Departure, Due, Molt, Specimen, Standing
from collection.querysets import HERE
from collection.rights import helper_may, is_keeper, open_to_helpers
from husbandry.models import Place

PER_PAGE = 40
ORDER = {urgency: number for number, urgency in enumerate(Urgency)}
MONTH = ("molted", "came", "died", "passed on")


@dataclass
class Row:
    """One animal that needs the keeper: the most pressing reason first."""

    specimen: Specimen
    said: list[Said]
    position: str = ""

    @property
    def urgency(self) -> Urgency:
        """The most pressing of its reasons."""
        return self.said[0].urgency

    @property
    def actions(self) -> tuple[Action, ...]:
        """What can be done about the most pressing reason, and about all else that is due."""
        pressing = [said for said in self.said[1:] if said.urgency in {Urgency.OVER, Urgency.DUE}]
        known = {action.label: action for said in [self.said[0], *pressing] for action in said.actions}
        return tuple(known.values())


@dataclass
class Stop:
    """A place on the walk with the rows that stand there."""

    name: str
    note: str = ""
    place: Place | None = None
    rows: list[Row] = field(default_factory=list)


@dataclass(frozen=True)
class Counts:
    """How many animals need what; one that needs several things counts in each, and once among all `places`."""

    over: int
    due: int
    look: int
    held: int
    places: int
    apart: dict[str, int]  # of each kind that stands apart from the list, how many animals it concerns


class Spot(NamedTuple):
    """An animal of the list and where it stands: what puts it into walking order."""

    specimen: int
    place: int | None
    position: int | None
    code: str | None


@helper_may
@require_safe
@vary_on_headers("HX-Request")
def dashboard(request: HttpRequest) -> HttpResponse:
    """The whole day on one page; `show` and `kind` narrow the list, `page` turns it."""
    today = timezone.localdate()
    show, kind = _asked(request, "show", ORDER), _asked(request, "kind", attention.due_kinds)
    counts = _counts(today)
    pages = Paginator(_in_walking_order(_narrow(_wanted(today, kind), show, today)), PER_PAGE)
    if not kind:
        pages.count = getattr(counts, show or "places")  # counted already
    page = pages.get_page(request.GET.get("page"))
    spots = [Spot(*row) for row in page.object_list]
    rows = _rows([spot.specimen for spot in spots], today, show, kind)
    _keep_to_rights(rows, request)
    fragment = wants_fragment(request)
    context = {
        "today": today,
        "page": page,
        "stops": _stops(rows, spots),
        "counts": counts,
        "show": show,
        "kind": attention.due_kinds.get(kind),
        "apart": [(known, n) for known in attention.kinds() if (n := counts.apart.get(known.name))],
    }
    if not fragment:
        context |= {"tally": _tally(), "month": _month(today), "house": _house(request, today)}
        context["beside"] = _beside(request, today)
    return render(request, "config/dashboard.html" + ("#needs-list" if fragment else ""), context)


def _asked(request: HttpRequest, name: str, known: Container[str]) -> str:
    """What the address asks for, when there is such a thing: an old bookmark still opens a page."""
    asked = request.GET.get(name, "")
    return asked if asked in known else ""


@require_safe
def settings(request: HttpRequest) -> HttpResponse:
    """The settings corner: doors to what is set."""
    return render(request, "config/settings.html")


def _wanted(today: date, kind: str) -> QuerySet[Due]:
    """Dues that bring an animal into the list, or those of one kind."""
    listed = [kind] if kind else [k.name for k in attention.kinds() if k.in_list]
    return Due.objects.wanted(today).of(*listed)


def _urgency(urgency: str, today: date, listed: Sequence[DueKind]) -> Q:
    """The dues that count as over, due, look or held. What does not grow overdue wants a look, and is never held."""
    grows = Q(kind__in=[kind.name for kind in listed if kind.by_day])
    return {
        Urgency.OVER.value: grows & Q(due_on__lt=today),
        Urgency.DUE.value: grows & Q(due_on=today),
        Urgency.LOOK.value: Q(kind__in=[kind.name for kind in listed if not kind.by_day]),
        Urgency.HELD.value: grows & (Q(due_on__isnull=True) | Q(due_on__gt=today)),
    }[urgency]


def _to_do(today: date, listed: Sequence[DueKind]) -> Q:
    """All but what is only held."""
    grows = Q(kind__in=[kind.name for kind in listed if kind.by_day])
    return (grows & Q(due_on__lte=today)) | _urgency(Urgency.LOOK.value, today, listed)


def _narrow(found: QuerySet[Due], show: str, today: date) -> QuerySet[Due]:
    """All but what is only held, unless one urgency is asked for."""
    every = attention.kinds()
    return found.filter(_urgency(show, today, every) if show else _to_do(today, every))


def _counts(today: date) -> Counts:
    """How many animals need what, in one question for the list and for what stands apart from it."""
    listed = [kind for kind in attention.kinds() if kind.in_list]
    apart = [kind.name for kind in attention.kinds() if not kind.in_list]
    parts = {name.value: _urgency(name.value, today, listed) for name in Urgency}
    parts["places"] = _to_do(today, listed)
    found = (
        Due.objects.wanted(today)
        .of(*attention.due_kinds)
        .aggregate(
            **{name: Count("specimen_id", distinct=True, filter=part) for name, part in parts.items()},
            **{f"apart_{name}": Count("specimen_id", filter=Q(kind=name)) for name in apart},
        )
    )
    return Counts(apart={name: found[f"apart_{name}"] for name in apart}, **{name: found[name] for name in parts})


def _in_walking_order(found: QuerySet[Due]) -> QuerySet[Specimen, Any]:
    """One row an animal, as one walks past; what stands nowhere comes last."""
    now = FilteredRelation("stays", condition=Q(stays__ends__isnull=True))
    animals = Specimen.objects.filter(pk__in=found.values("specimen_id")).annotate(now=now)
    box = "now__enclosure"
    return animals.order_by(
        F(f"{box}__place__walk_key").asc(nulls_last=True),
        F(f"{box}__position").asc(nulls_last=True),
        f"{box}__code",
        "pk",
    ).values_list("pk", f"{box}__place", f"{box}__position", f"{box}__code")


def _rows(ids: list[int], today: date, show: str, kind: str) -> list[Row]:
    """The animals of one page with all their reasons: what was asked for first, then the most pressing."""
    animals = Specimen.objects.for_display().in_bulk(ids)
    said: dict[int, list[tuple[DueKind, Said]]] = {pk: [] for pk in ids}
    for due in Due.objects.filter(specimen__in=ids).wanted(today):
        known = attention.due_kinds.get(due.kind)
        if known is not None and (known.in_list or known.name == kind):
            said[due.specimen_id].append((known, attention.said(known, dues.as_stored(due), today)))

    def pressing(reason: tuple[DueKind, Said]) -> tuple[Any, ...]:
        known, what = reason
        return known.name != kind, what.urgency.value != show, ORDER[what.urgency], known.order

    return [Row(animals[pk], [what for _, what in sorted(said[pk], key=pressing)]) for pk in ids]


def _keep_to_rights(rows: list[Row], request: HttpRequest) -> None:
    """Offer a helper nothing that leads to a closed door."""
    if is_keeper(request.user):
        return
    for row in rows:
        row.said = [
            replace(what, actions=tuple(a for a in what.actions if open_to_helpers(a.url_name, row.specimen.pk)))
            for what in row.said
        ]


def _stops(rows: list[Row], spots: list[Spot]) -> list[Stop]:
    """The rows grouped by the rack, tray or room they stand in, in the order they came."""
    ids = {spot.place for spot in spots if spot.place is not None}
    places = Place.objects.select_related("parent__parent").in_bulk(ids)
    stops: list[Stop] = []
    for row, spot in zip(rows, spots, strict=True):
        stands = places[spot.place] if spot.place is not None else None
        place = _rack(stands) if stands else None
        if not stops or stops[-1].place != place:
            stops.append(Stop(place.name if place else "No place yet", place.note if place else "", place))
        if stands is not None:
            shelf = f"{stands.order}·" if stands != place and stands.order else ""
            row.position = f"{shelf}{spot.position or spot.code}"
        stops[-1].rows.append(row)
    return stops


def _rack(place: Place) -> Place:
    """The rack or tray that a shelf or position belongs to."""
    while place.parent is not None and place.kind in {"shelf", "position"}:
        place = place.parent
    return place


@dataclass(frozen=True)
class Tally:
    """Head count by males.females.unsexed, and how many groups."""

    males: int
    females: int
    unsexed: int
    groups: int


def _tally() -> Tally:
    """The whole collection in one line; counted by status as well, so that the index alone answers."""
    here = Standing.objects.filter(status__in=HERE)
    rows = here.values_list("status", "single", "sex").annotate(n=Count("*")).order_by()
    found: Counter[str] = Counter()
    for _, single, sex, number in rows:
        found[sex.removeprefix("probably_") if single else "group"] += number
    return Tally(found["male"], found["female"], found["unsexed"], found["group"])


def _month(today: date) -> list[tuple[int, str]]:
    """What changed since the first of the month, in one question."""
    first = today.replace(day=1)
    molted, *others = (
        rows.order_by().values(word=Value(word)).annotate(number=Count("*")).values_list("number", "word")
        for word, rows in (
            ("molted", Molt.objects.filter(earliest__gte=first)),
            ("came", Specimen.objects.filter(acquired_earliest__gte=first)),
            ("died", Death.objects.filter(earliest__gte=first)),
            ("passed on", Departure.objects.filter(on__gte=first, kind="passed_on")),
        )
    )
    found = sorted(molted.union(*others, all=True), key=lambda row: MONTH.index(row[1]))
    return [(number, word) for number, word in found if number]


def _house(request: HttpRequest, today: date) -> list[HouseItem]:
    """What needs the keeper and concerns no single animal; a helper is not asked for it."""
    if not is_keeper(request.user):
        return []
    return [item for name in sorted(attention.house_sources) for item in _house_items(name, today)]


def _house_items(name: str, today: date) -> list[HouseItem]:
    def work() -> list[HouseItem]:
        return list(attention.house_sources[name](today))

    return attention.guarded(f"The source {name}", work, [HouseItem(name.capitalize(), attention.UNSAID)])


def _beside(request: HttpRequest, today: date) -> list[attention.BesidePanel]:
    """The panels beside the list; they are the keeper's, and so is every door in them."""
    if not is_keeper(request.user):
        return []
    panels = (_panel(name, today) for name in sorted(attention.beside_panels))
    return [panel for panel in panels if panel is not None]


def _panel(name: str, today: date) -> attention.BesidePanel | None:
    failed: attention.BesidePanel | None = attention.BesidePanel(
        "config/_panel_failed.html", {"name": name.capitalize(), "said": attention.UNSAID}
    )
    return attention.guarded(f"The panel {name}", lambda: attention.beside_panels[name](today), failed)
