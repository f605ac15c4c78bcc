"""Writes of the bottom app. Each keeps the rules that span several records, then works out what follows."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Sequence
from datetime import date
from typing import Any

from django.db import models, transaction

from collection import descents, dues, receipts
from collection.models import (
    Death,
    Departure,
    GroupCount,
    HeadLoss,
    Molt,
    SexEvidence,
    Specimen,
    SpecimenKind,
    Status,
)
from collection.sexing import Finding, Method
from collection.wording import plural

MATURED = "molted to maturity"  # marks the evidence that a molt brought by itself


class Refused(Exception):
    """A write that breaks a rule; its text is a sentence for the keeper, to stand next to the field it is about."""

    def __init__(self, sentence: str, field: str | None = None) -> None:
        super().__init__(sentence)
        self.field = field


End = Callable[[Specimen, date], None]
ends: dict[str, End] = {}  # what else ends with an animal, by name; upper apps add theirs


def at_the_end(name: str) -> Callable[[End], End]:
    """Register what is done when an animal dies or is passed on: it gets the animal and the day."""

    def keep(end: End) -> End:
        ends[name] = end
        return end

    return keep


deaths: dict[str, End] = {}  # what else ends when it dies, by name


def at_death(name: str) -> Callable[[End], End]:
    """Register what is done when an animal dies, over and above what is done at any end."""

    def keep(end: End) -> End:
        deaths[name] = end
        return end

    return keep


Again = Callable[[Specimen, date], str]
agains: dict[str, Again] = {}  # what comes back when an end is corrected away, by name


def if_not_the_end(name: str) -> Callable[[Again], Again]:
    """Register what comes back when an end turns out to be none: it gets the animal and the day that end was on.

    It answers with a sentence for the keeper where something cannot come back, and with nothing where all is well.
    """

    def keep(again: Again) -> Again:
        agains[name] = again
        return again

    return keep


def write(record: models.Model, specimens: Iterable[Specimen], label: str, *, moves: Collection[str] = ()) -> None:
    """Save one event and work out anew what it changes for these animals: all, or only the due dates it `moves`."""
    touched = [specimen.pk for specimen in specimens]
    with transaction.atomic():
        record.save()
        dues.refresh(touched, moves)
        receipts.note(label, touched)


def remove(record: models.Model, specimens: Iterable[Specimen], label: str) -> None:
    """Take an event away (its history stays) and work out what follows."""
    touched = [specimen.pk for specimen in specimens]
    with transaction.atomic():
        record.delete()
        dues.refresh(touched)
        receipts.note(label, touched)


def refuse_after_end(specimen: Specimen, day: date, but: models.Model | None = None) -> None:
    """Nothing happens to an animal after it died or was passed on; `but` is the end that is being corrected."""
    death = Death.objects.filter(specimen=specimen).first()
    if death is not None and death != but and day > death.latest:
        raise Refused(f"{specimen.code} died on {death.when}; this day lies after it.", "on")
    gone = specimen.departures.filter(kind=Departure.Kind.PASSED_ON.value, on__lt=day).first()
    if gone is not None and gone != but:
        raise Refused(f"{specimen.code} was passed on on {gone.on}; this day lies after it.", "on")


def record_molt(molt: Molt) -> None:
    """A molt; a molt to maturity is evidence of a male as well."""
    record_molts([molt], f"Molt of {molt.specimen.code}")


def record_molts(molts: Sequence[Molt], label: str = "") -> None:
    """The molts of a tray, all or none: one entry, which is taken back as one."""
    touched = [molt.specimen_id for molt in molts]
    with transaction.atomic():
        for molt in molts:
            refuse_after_end(molt.specimen, molt.earliest)
            _refuse_heads(molt)
            molt.save()
            _keep_evidence_of(molt)
        dues.refresh(touched)
        receipts.note(label or f"Molts of {plural(len(touched), 'animal')}", touched)


def _refuse_heads(molt: Molt) -> None:
    """Of a group it is said how many molted, never more than it holds; one animal is one."""
    specimen = molt.specimen
    if specimen.kind == SpecimenKind.SINGLE.value:
        if molt.animals is not None:
            raise Refused(f"{specimen.code} is one animal; how many molted is only asked of groups.", "animals")
        return
    if molt.animals is None:
        raise Refused(f"{specimen.code} is kept as a group: say how many of them molted.", "animals")
    heads = _heads_on(specimen, molt.earliest)
    if heads is not None and molt.animals > heads:
        raise Refused(f"{specimen.code} holds {heads} by the last count; so many cannot have molted.", "animals")


def _heads_on(group: Specimen, day: date) -> int | None:
    """How many it held when that day began, by the last count before it or of it; None where none says so.

    It may have lost some since: what an older entry says is weighed by its own day.
    """
    last = group.counts.filter(earliest__lte=day).first()
    if last is None:
        return None
    died = group.head_losses.filter(earliest__gt=last.earliest, earliest__lt=day)
    return max(last.count - sum(died.values_list("number", flat=True)), 0)


def remove_molt(molt: Molt) -> None:
    """Take a molt away, with the evidence that it was one to maturity; other evidence from its skin is in the way."""
    with transaction.atomic():
        molt.matured = False
        _keep_evidence_of(molt)
        if molt.sex_evidence.exists():
            raise Refused("Sex evidence was taken from this skin; take that away first.")
        remove(Molt.objects.get(pk=molt.pk), [molt.specimen], f"Took away: {molt} of {molt.specimen}")


def _keep_evidence_of(molt: Molt) -> None:
    """The evidence that a molt to maturity is comes, moves and goes with it; the keeper's own stays as it is."""
    seen = molt.sex_evidence.filter(method=Method.MATURE_MALE.value)
    own = seen.filter(note=MATURED).first()
    if not molt.matured and own is not None:
        own.delete()
    if not molt.matured or (own is None and seen.exists()):
        return
    if own is None:
        own = SexEvidence(
            specimen=molt.specimen,
            method=Method.MATURE_MALE.value,
            finding=Finding.MALE.value,
            molt=molt,
            note=MATURED,
        )
    elif own.when == molt.when:
        return
    own.earliest, own.latest = molt.earliest, molt.latest
    own.save()


def record_death(death: Death) -> None:
    """A death, of an animal that had not died or left before."""
    specimen = death.specimen
    if Death.objects.filter(specimen=specimen).exclude(pk=death.pk).exists():
        raise Refused(f"The death of {specimen.code} is on record already.")
    refuse_after_end(specimen, death.earliest, but=death)
    with transaction.atomic():
        was = Death.objects.filter(pk=death.pk).first()
        if was is not None and was.latest != death.latest:
            _end_no_more(specimen, was.latest)
        _end(specimen, death.latest)
        for name in sorted(deaths):
            deaths[name](specimen, death.latest)
        write(death, [specimen], f"Death of {specimen.code}")


def remove_death(death: Death) -> None:
    """It did not die after all: what ended with it comes back, where its place is still free."""
    with transaction.atomic():
        said = _end_no_more(death.specimen, death.latest)
        remove(death, [death.specimen], " ".join([f"Took away: {death} of {death.specimen}", *said]))


def _end(specimen: Specimen, day: date) -> None:
    for name in sorted(ends):
        ends[name](specimen, day)


def _end_no_more(specimen: Specimen, day: date) -> list[str]:
    return [said for name in sorted(agains) if (said := agains[name](specimen, day))]


def record_departure(departure: Departure) -> None:
    """An animal leaves: passed on, lent or missing; only one that is here can."""
    specimen = departure.specimen
    if departure.pk is None and specimen.standing.status not in {Status.HERE.value, Status.LOAN_IN.value}:
        raise Refused(f"{specimen.code} is not here: {specimen.standing.get_status_display()}.")
    refuse_after_end(specimen, departure.on, but=departure)
    if departure.back_on is not None:
        if departure.back_on < departure.on:
            raise Refused(f"It left on {departure.on}; it cannot be back before that.", "back_on")
        refuse_after_end(specimen, departure.back_on)
    away = specimen.departures.filter(on__lte=departure.on, back_on__gt=departure.on).exclude(pk=departure.pk).first()
    if away is not None:
        raise Refused(f"{specimen.code} was away from {away.on} to {away.back_on}; it cannot leave in between.", "on")
    with transaction.atomic():
        was = Departure.objects.filter(pk=departure.pk, kind=Departure.Kind.PASSED_ON.value).first()
        if was is not None and (was.on, was.kind) != (departure.on, departure.kind):
            _end_no_more(specimen, was.on)
        if departure.kind == Departure.Kind.PASSED_ON.value:
            _end(specimen, departure.on)
        write(departure, [specimen], f"{specimen.code} {departure.get_kind_display()}")


def remove_departure(departure: Departure) -> None:
    """It did not leave after all; what ended with its passing on comes back, where its place is still free."""
    passed_on = departure.kind == Departure.Kind.PASSED_ON.value
    with transaction.atomic():
        said = _end_no_more(departure.specimen, departure.on) if passed_on else []
        label = f"Took away: {departure} of {departure.specimen}"
        remove(departure, [departure.specimen], " ".join([label, *said]))


returns: dict[str, End] = {}  # what else is over when it is back, by name


def at_return(name: str) -> Callable[[End], End]:
    """Register what is done when an animal comes back from a loan, or is found: it gets the animal and the day."""

    def keep(end: End) -> End:
        returns[name] = end
        return end

    return keep


def record_return(departure: Departure, day: date) -> None:
    """An animal on loan or missing is back."""
    if departure.kind == Departure.Kind.PASSED_ON.value:
        raise Refused("An animal passed on does not come back; enter it as a new arrival.")
    if day < departure.on:
        raise Refused(f"It left on {departure.on}; it cannot be back before that.", "on")
    refuse_after_end(departure.specimen, day)
    departure.back_on = day
    with transaction.atomic():
        for name in sorted(returns):
            returns[name](departure.specimen, day)
        write(departure, [departure.specimen], f"{departure.specimen.code} is back")


def record_count(count: GroupCount) -> None:
    """A head count of a group or culture."""
    if count.specimen.kind == "single":
        raise Refused(f"{count.specimen.code} is a single animal; only groups and cultures are counted.")
    refuse_after_end(count.specimen, count.earliest)
    write(count, [count.specimen], f"Counted {count.specimen.code}: {count.count}")


def record_head_loss(loss: HeadLoss, left: int | None) -> None:
    """Some of a group died; `left` is how many the keeper counted afterwards, where that was done."""
    group = loss.specimen
    if group.kind == "single":
        raise Refused(f"{group.code} is a single animal; log its death instead.")
    refuse_after_end(group, loss.earliest)
    same_day = group.counts.filter(earliest=loss.earliest, latest=loss.latest)
    if loss.pk is None and left is None and same_day.exists():
        raise Refused("A head count of that day is on record already. Say how many are left.", "left")
    # Once it is on record, a count of its day is what was left, not what there was.
    before = {"earliest__lte": loss.latest} if loss.pk is None else {"earliest__lt": loss.earliest}
    last = group.counts.filter(**before).first()
    if last is not None and last.method == "counted" and loss.number > last.count:
        raise Refused(f"{group.code} held {last.count} when last counted, on {last.when}. Count them first.", "number")
    with transaction.atomic():
        if left is not None:
            GroupCount(specimen=group, earliest=loss.earliest, latest=loss.latest, count=left).save()
        write(loss, [group], f"{loss.number} of {group.code} died")


on_saving: dict[str, Callable[[Specimen], None]] = {}  # what else follows when particulars are saved, by name


def save_specimen(specimen: Specimen, label: str) -> None:
    """A new animal, or changed particulars of one."""
    label = label or ("Changed " if specimen.pk else "Entered ") + specimen.code
    refuse_used_code(specimen)
    refuse_parents(specimen)
    before = Specimen.objects.filter(pk=specimen.pk).first()
    specimen.hybrid = specimen.hybrid or descents.crossed(specimen, specimen.dam, specimen.sire)  # and never back
    with transaction.atomic():
        specimen.save()
        for name in sorted(on_saving):
            on_saving[name](specimen)
        moved = kept_of([before.taxon_id]) if before and before.taxon_id != specimen.taxon_id else []
        dues.refresh([specimen.pk, *moved])
        receipts.note(label, [specimen.pk, *moved])


def refuse_used_code(specimen: Specimen) -> None:
    """Refuse a code that is or was another animal's, in whatever case: codes are never used twice."""
    others = Specimen.objects.exclude(pk=specimen.pk)
    if others.filter(code__iexact=specimen.code).exists():
        raise Refused(f"{specimen.code} is the code of another animal. Choose one that was never used.", "code")
    was: models.QuerySet[Any] = Specimen.history.filter(code__iexact=specimen.code, id__in=others.values("pk"))
    once = was.first()
    if once is not None:
        now = others.get(pk=once.id)
        raise Refused(f"{specimen.code} was the code of {now} before. Choose one that was never used.", "code")


def refuse_parents(specimen: Specimen) -> None:
    """Refuse a dam that is a male, a sire that is a female, a parent not older than its young, a circle of descent."""
    dam, sire = specimen.dam, specimen.sire
    if sire is not None and specimen.fatherless:
        raise Refused(f"{specimen} is on file as young without a male. Take that back on its kin page first.", "sire")
    if dam is not None and dam == sire:
        raise Refused("Dam and sire are one and the same animal.", "sire")
    if dam is not None and dam.standing.probably_male:
        raise Refused(f"The evidence says that {dam} is a male. Weigh the evidence first.", "dam")
    if sire is not None and sire.standing.probably_female:
        raise Refused(f"The evidence says that {sire} is a female. Weigh the evidence first.", "sire")
    for field, parent in (("dam", dam), ("sire", sire)):
        if parent is None:
            continue
        if specimen.pk in _with_ancestors(parent):
            raise Refused(f"{parent} descends from {specimen}; nobody is its own ancestor.", field)
        if _not_older(parent, specimen):
            raise Refused(f"{parent} hatched {parent.hatched}: not before its young.", field)
    for young in _young_of(specimen):
        if _not_older(specimen, young):
            raise Refused(f"Its young {young} hatched {young.hatched}; it must be older than that.", "hatched")


def _young_of(specimen: Specimen) -> models.QuerySet[Specimen]:
    if specimen.pk is None:
        return Specimen.objects.none()
    return Specimen.objects.filter(models.Q(dam=specimen) | models.Q(sire=specimen))


def _not_older(parent: Specimen, young: Specimen) -> bool:
    """Whether, of all that is known of the two days, the parent cannot have hatched first."""
    return bool(parent.hatched and young.hatched and parent.hatched.earliest >= young.hatched.latest)


def _with_ancestors(specimen: Specimen) -> set[int]:
    """The animal and all it descends from, one query a generation."""
    known: set[int] = set()
    generation = {specimen.pk}
    while generation:
        known |= generation
        parents = Specimen.objects.filter(pk__in=generation).values_list("dam_id", "sire_id")
        generation = {pk for pair in parents for pk in pair if pk is not None} - known
    return known


@receipts.mends("collection.taxon")
def kept_of(taxa: Sequence[int]) -> list[int]:
    """Whose dues follow from a taxon's figures."""
    return list(Specimen.objects.filter(taxon__in=taxa).values_list("pk", flat=True))
