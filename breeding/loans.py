"""Writes of loans: out, in, and back."""

from __future__ import annotations

from datetime import date

from django.db import transaction

from breeding.models import EggSac, Loan
from breeding.pairings import possible_sires
from collection import dues, receipts
from collection.models import Departure, Specimen, Status
from collection.services import (
    Refused,
    at_death,
    at_return,
    if_not_the_end,
    record_departure,
    record_return,
    refuse_after_end,
    remove,
    remove_departure,
)


def begin(loan: Loan) -> Loan:
    """Lend an animal out, or write down the terms of one that was lent to us. An animal has one open loan."""
    animal = loan.specimen
    refuse_after_end(animal, loan.since)
    before = Loan.objects.filter(pk=loan.pk).first()
    if before is not None and before.way != loan.way:
        raise Refused("Whose animal it is does not change. Take this loan away and log it anew.", "way")
    others = Loan.objects.filter(specimen=animal, ended_on__isnull=True).exclude(pk=loan.pk)
    if loan.ended_on is None and others.exists():
        raise Refused(f"{animal.code} is on loan already. End that loan first.")
    if loan.pk is None and loan.way == Loan.Way.OUT.value and animal.standing.status != Status.HERE.value:
        raise Refused(f"{animal.code} is {animal.standing.get_status_display()} and cannot be lent out.")
    with transaction.atomic():
        went = _departure(before) if before else Departure(specimen=animal, kind="loan_out")
        loan.save()
        if loan.way == Loan.Way.OUT.value and went is not None:
            went.on, went.contact = loan.since, loan.contact
            record_departure(went)
        dues.refresh([animal.pk])
        receipts.note(f"Loan of {animal.code}: {loan.get_way_display()}, {loan.contact}", [animal.pk])
    return loan


def _departure(loan: Loan) -> Departure | None:
    """The departure that a loan of ours began with, where it still stands so."""
    went = loan.specimen.departures.filter(kind="loan_out", on=loan.since, contact=loan.contact)
    return went.first() if loan.way == Loan.Way.OUT.value else None


def take_away(loan: Loan) -> None:
    """It was not lent after all: the departure that the loan began with goes as well."""
    with transaction.atomic():
        receipts.note(f"Took away: loan of {loan.specimen.code}, {loan.contact}")
        went = _departure(loan)
        if went is not None:
            remove_departure(went)
        remove(loan, [loan.specimen], "")


def end(loan: Loan, day: date) -> Loan:
    """The animal is back with its owner: ours stands here again, theirs has left for good."""
    if day < loan.since:
        raise Refused(f"The loan began on {loan.since}; it cannot have ended before.", "on")
    if loan.ended_on is not None:
        raise Refused(f"This loan ended on {loan.ended_on}.", "on")
    animal = loan.specimen
    with transaction.atomic():
        loan.ended_on = day
        loan.save(update_fields=["ended_on"])
        if loan.way == Loan.Way.OUT.value:
            away = animal.departures.filter(kind="loan_out", back_on__isnull=True).first()
            if away is not None:
                record_return(away, day)
        elif animal.standing.status == Status.LOAN_IN.value:
            record_departure(
                Departure(specimen=animal, kind="passed_on", on=day, contact=loan.contact, note="loan ended")
            )
        dues.refresh([animal.pk])
        receipts.note(f"{animal.code} is back from loan", [animal.pk])
    return loan


def terms_of(animal: Specimen | None) -> str:
    """What holds if an animal that is lent to us is lost, in a sentence; nothing of one that is our own."""
    if animal is None:
        return ""
    loan = Loan.objects.filter(specimen=animal, way=Loan.Way.IN.value).select_related("contact").first()
    if loan is not None and loan.ended_on in (None, _died(animal)):
        lost = loan.if_lost.rstrip(".") or "nothing is agreed; agree it before they meet"
        return f"{animal.code} is lent by {loan.contact}. If he is lost: {lost[:1].lower()}{lost[1:]}."
    if animal.standing.status == Status.LOAN_IN.value:
        return f"{animal.code} is on loan here, and no terms are on record: agree with the owner before they meet."
    return ""


def _died(animal: Specimen) -> date | None:
    death = getattr(animal, "death", None)
    return death.latest if death else None


@at_return("loan")
def home_again(animal: Specimen, day: date) -> None:
    """Whoever came back from a loan of ours is no longer lent, wherever that was logged."""
    for loan in Loan.objects.filter(specimen=animal, way=Loan.Way.OUT.value, ended_on__isnull=True, since__lte=day):
        loan.ended_on = day
        loan.save(update_fields=["ended_on"])


@at_death("loan")
def over_by_death(animal: Specimen, day: date) -> None:
    """Who is dead is not to come back; what was agreed for that stays on the paper of the loan."""
    for loan in Loan.objects.filter(specimen=animal, ended_on__isnull=True):
        loan.ended_on = max(day, loan.since)
        loan.save(update_fields=["ended_on"])


@if_not_the_end("loan")
def runs_again(animal: Specimen, day: date) -> str:
    """A loan that ended with an end that was none runs again."""
    for loan in Loan.objects.filter(specimen=animal, ended_on=day):
        loan.ended_on = None
        loan.save(update_fields=["ended_on"])
    return ""


def of_sires(sac: EggSac) -> Loan | None:
    """The loan by which a share of this brood was promised: of a male that may be its sire, or of the female."""
    animals = [one.pk for one in possible_sires(sac) if one is not None]
    promised = Loan.objects.filter(specimen__in=[*animals, sac.female_id], way=Loan.Way.IN.value, percent__gt=0)
    taken = sac.shares.values("to")
    return promised.exclude(contact__in=taken).select_related("specimen", "contact").order_by("-since").first()
