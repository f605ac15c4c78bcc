"""Writes of loans: out, in, and back."""

from __future__ import annotations

from datetime import date

from django.db import transaction

from breeding.models import Loan
from collection import dues, receipts
from collection.models import Departure, Status
from collection.services import Refused, record_departure, record_return, refuse_after_end


def begin(loan: Loan) -> Loan:
    """Lend an animal out, or write down the terms of one that was lent to us. An animal has one open loan."""
    animal = loan.specimen
    refuse_after_end(animal, loan.since)
    if Loan.objects.filter(specimen=animal, ended_on__isnull=True).exclude(pk=loan.pk).exists():
        raise Refused(f"{animal.code} is on loan already. End that loan first.")
    if loan.pk is None and loan.way == Loan.Way.OUT.value and animal.standing.status != Status.HERE.value:
        raise Refused(f"{animal.code} is {animal.standing.get_status_display()} and cannot be lent out.")
    with transaction.atomic():
        first = loan.pk is None
        loan.save()
        if first and loan.way == Loan.Way.OUT.value:
            record_departure(Departure(specimen=animal, kind="loan_out", on=loan.since, contact=loan.contact))
        dues.refresh([animal.pk])
        receipts.note(f"Loan of {animal.code}: {loan.get_way_display()}, {loan.contact}", [animal.pk])
    return loan


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
