"""What is known of the feeding of a set of animals, and the next feed that follows from it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from django.db.models import Max, Q
from django.utils import timezone

from collection import premolt_clues, traces
from collection.models import Measurement, Molt, Specimen, SpecimenKind
from collection.premolt import WEIGHTS
from collection.stages import Group, Lifestyle, Stage
from husbandry import fasting, holds, influences, prey, rhythm, rhythm_choice
from husbandry.condition import Condition, body_condition
from husbandry.fasting import Excuse
from husbandry.models import Feeding, FeedRhythm, Stay
from husbandry.rhythm import FeedDue, Hold, HoldKind, Meal, Outcome, Rhythm
from husbandry.rhythm_choice import Influence, InfluenceKind, Own

TAKEN = Outcome.TAKEN.value
FOR_A_MOLT = {sign.value for sign, weight in WEIGHTS.items() if weight.ratio >= 2}  # others say little, or against it
NO_FOOD = (
    HoldKind.PREMOLT, HoldKind.SAC, HoldKind.BROOD, HoldKind.EXPECTING, HoldKind.COOLING, HoldKind.INCUBATING,
    HoldKind.HARDENING,
)  # fmt: skip


@traces.shared
def last_taken(ids: Sequence[int]) -> dict[int, date]:
    """The day of the last meal taken, by animal."""
    meals = Feeding.objects.filter(specimen__in=ids, outcome=TAKEN).values_list("specimen")
    return dict(meals.annotate(last=Max("on")).order_by())


@traces.shared
def not_taken(ids: Sequence[int]) -> list[tuple[int, date]]:
    """The days on which food was offered and not taken, oldest first, each with its animal."""
    rows = Feeding.objects.filter(specimen__in=ids).exclude(outcome=TAKEN)
    return list(rows.values_list("specimen_id", "on").order_by("on"))


class FeedFacts:
    """Rows about the meals of a set of animals, one query a kind. `proposed`: a rhythm that is not stored yet."""

    def __init__(self, ids: Sequence[int], proposed: FeedRhythm | None = None) -> None:
        self.taken = last_taken(ids)
        self.refused: dict[int, list[date]] = defaultdict(list)
        for pk, on in not_taken(ids):
            if pk not in self.taken or on > self.taken[pk]:
                self.refused[pk].append(on)
        self.own = OwnRhythms(ids, proposed)
        self.holds = holds.gather(ids)
        self.influences = influences.gather(ids)
        clues = premolt_clues.gather(ids, without=("meals",))
        self.signs = {pk: [day for sign, day in told.signs if sign in FOR_A_MOLT] for pk, told in clues.items()}


class OwnRhythms:
    """The keeper's own rhythms that bear on a set of animals, whatever they were set for."""

    def __init__(self, ids: Sequence[int], proposed: FeedRhythm | None = None) -> None:
        rows = FeedRhythm.objects.filter(Q(specimen__in=ids) | Q(specimen__isnull=True))
        found = [
            row for row in rows.select_related("place", "taxon").order_by("since", "id") if not _same(row, proposed)
        ]
        self.of_animal: dict[int, list[Own]] = defaultdict(list)
        self.of_taxon: dict[int, list[Own]] = defaultdict(list)
        self.of_place: list[tuple[str, Own]] = []
        for row in [*found, *([proposed] if proposed else [])]:
            if row.specimen_id is not None:
                self.of_animal[row.specimen_id].append(row.as_own())
            elif row.place is not None:
                self.of_place.append((row.place.walk_key, row.as_own()))
            elif row.taxon_id is not None:
                self.of_taxon[row.taxon_id].append(row.as_own())
        self.where = _walk_keys(ids) if self.of_place else {}

    def of(self, specimen: Specimen) -> list[Own]:
        """All that name this animal, its place or a place around that, or its taxon; oldest first in each scope."""
        key = self.where.get(specimen.pk, "")
        near = [own for place, own in self.of_place if place and key.startswith(place)]
        return [*self.of_animal[specimen.pk], *near, *self.of_taxon[specimen.taxon_id]]


def _same(row: FeedRhythm, proposed: FeedRhythm | None) -> bool:
    """Whether a stored row is the one that the proposed stands for."""
    return proposed is not None and row.pk == proposed.pk


def _walk_keys(ids: Sequence[int]) -> dict[int, str]:
    """Where each animal stands, as the walking key of its place."""
    stays = Stay.objects.open().filter(specimen__in=ids, enclosure__place__isnull=False)
    return dict(stays.values_list("specimen_id", "enclosure__place__walk_key"))


def default_of(specimen: Specimen) -> Rhythm | None:
    """The usual rhythm of an animal like this one."""
    taxon, standing = specimen.taxon, specimen.standing
    lifestyle = Lifestyle(taxon.lifestyle) if taxon.lifestyle else Lifestyle.TERRESTRIAL
    if specimen.kind == SpecimenKind.CULTURE.value:
        return None
    return rhythm.default_rhythm(
        Group(taxon.group), Stage(standing.stage), lifestyle, size_mm=standing.size_mm, slow=taxon.slow
    )


def in_house_since(specimen: Specimen) -> date:
    """The day from which a first meal is counted: arrival, hatching, or the day the animal was entered.

    A vague day such as "this year" may end long after the animal was entered; it was here by then.
    """
    entered = timezone.localtime(specimen.entered_at).date()
    return min(specimen.acquired_latest or specimen.hatched_latest or entered, entered)


@dataclass(frozen=True)
class Feed:
    """The next feed of one animal, its rhythm, what stops it or bears on it, and when a fast is worth a look."""

    due: FeedDue
    rhythm: Rhythm | None
    holds: list[Hold]
    influences: list[Influence]
    alert_on: date | None


def feed_of(specimen: Specimen, facts: FeedFacts) -> Feed:
    """Work out the next feed of one animal."""
    taken, refused = facts.taken.get(specimen.pk), facts.refused[specimen.pk]
    since = in_house_since(specimen)
    bearing = facts.influences[specimen.pk]
    stage = Stage(specimen.standing.stage)
    every = rhythm_choice.choose(facts.own.of(specimen), default_of(specimen), stage, taken or since)
    every = rhythm_choice.fatten(every, bearing, taken or since, bool(refused))
    meals = [Meal(taken, Outcome.TAKEN)] if taken else []
    meals += [Meal(on, Outcome.REFUSED) for on in refused]
    held = [*facts.holds[specimen.pk], *premolt(specimen, refused, facts.signs[specimen.pk])]
    mature = specimen.standing.mature_since is not None
    due = rhythm.next_feed(every, meals, held, since, mature_male=mature)
    alert = fasting.alert_from(
        Group(specimen.taxon.group), stage, refused, taken or since, list(_excuses(held, bearing)), mature_male=mature
    )
    return Feed(due, every, held, bearing, alert)


def premolt(specimen: Specimen, refused: list[date], signs: list[date]) -> list[Hold]:
    """The hold for a likely premolt: refusals, or a sign, inside the molt window; both together where there is none."""
    standing = specimen.standing
    molted, begins, ends = standing.last_molt, standing.molt_begins, standing.molt_ends
    fresh = [day for day in signs if molted is None or day > molted]
    window = ((begins - molted).days, (ends - molted).days) if molted and begins and ends else None
    if standing.mature_since is not None or (window is None and not fresh):
        return []
    hold = rhythm.premolt_hold(refused, molted, window, fresh)
    return [hold] if hold else []


def _excuses(held: Iterable[Hold], bearing: Iterable[Influence]) -> Iterator[Excuse]:
    """Good reasons to fast: premolt, a sac, a winter rest, a female that may be gravid."""
    for hold in held:
        if hold.kind in NO_FOOD:
            yield Excuse(hold.begins, hold.ends)
    for influence in bearing:
        if influence.kind is InfluenceKind.GRAVID:
            yield Excuse(influence.begins, influence.ends)


def prey_limit_of(specimen: Specimen) -> float | None:
    """The longest prey that suits an animal, in mm."""
    by_body = specimen.taxon.size_measure == "body"
    return prey.prey_limit(Stage(specimen.standing.stage), specimen.standing.size_mm, measured_body=by_body)


def condition_of(ids: Sequence[int]) -> dict[int, tuple[date, Condition]]:
    """How well fed these animals were when their abdomen was last measured, and when that was.

    The carapace is that of the same measurement, or of the last molt or measurement before it.
    """
    if traces.lacks(ids, Measurement):
        return {}
    rows = Measurement.objects.filter(specimen__in=ids, abdomen_mm__isnull=False).order_by("latest", "id")
    last = {row.specimen_id: row for row in rows.select_related("specimen__taxon")}
    if not last:
        return {}
    carapaces = _carapaces(list(last))
    found = {}
    for pk, row in last.items():
        before = [mm for day, mm in carapaces[pk] if day <= row.latest]
        carapace = row.carapace_mm or (before[-1] if before else None)
        found[pk] = (row.latest, body_condition(Group(row.specimen.taxon.group), carapace, row.abdomen_mm))
    return found


def _carapaces(ids: Sequence[int]) -> dict[int, list[tuple[date, float]]]:
    """Carapace lengths of these animals, oldest first."""
    found: dict[int, list[tuple[date, float]]] = defaultdict(list)
    for model in (Molt, Measurement):
        rows = model._default_manager.filter(specimen__in=ids, carapace_mm__isnull=False)
        for pk, day, mm in rows.values_list("specimen_id", "latest", "carapace_mm"):
            found[pk].append((day, mm or 0.0))
    return {pk: sorted(rows) for pk, rows in found.items()} | {pk: [] for pk in ids if pk not in found}
