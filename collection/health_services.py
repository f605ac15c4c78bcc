"""Writes about health: what is wrong and how it goes, quarantine and its checks, and what an end does to both."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date, timedelta

from django.db import transaction
from django.db.models import Q
from django.utils import timezone

from collection import dues, health, receipts
from collection.health import Outcome
from collection.models import (
    Arrival,
    HealthEntry,
    HealthIssue,
    Note,
    Origin,
    Quarantine,
    QuarantineCheck,
    Specimen,
    Standing,
    Status,
)
from collection.querysets import AWAY
from collection.services import Refused, at_death, at_the_end, if_not_the_end, on_saving, refuse_after_end, write


def open_issue(issue: HealthIssue, about: Note | None = None) -> None:
    """Something is wrong; `about` is the note that said so first, which is answered by it."""
    specimen = issue.specimen
    refuse_after_end(specimen, issue.earliest)
    same = HealthIssue.objects.filter(specimen=specimen, kind=issue.kind, closed_on__isnull=True)
    if same.exclude(pk=issue.pk).exists():
        name = issue.get_kind_display()
        raise Refused(f"An open issue of {specimen.code} says so already: {name}. Add what you saw there.", "kind")
    with transaction.atomic():
        write(issue, [specimen], f"Health of {specimen.code}: {issue}")
        if about is not None:
            about.issue = issue
            about.save()
            dues.refresh([specimen.pk])


def remove_issue(issue: HealthIssue) -> None:
    """Take an issue away; the note that it came from asks again, looks that were written are in its way."""
    if issue.entries.exists():
        raise Refused("Looks were written down since. Take those away first, or close the issue.")
    specimen = issue.specimen
    with transaction.atomic():
        for note in issue.notes.all():
            note.issue = None
            note.save()
        label = f"Took away: {issue} of {specimen}"
        issue.delete()
        dues.refresh([specimen.pk])
        receipts.note(label, [specimen.pk])


def record_entry(entry: HealthEntry) -> None:
    """One look at an issue, between its opening and its end."""
    issue = entry.issue
    if entry.latest < issue.earliest:
        raise Refused(f"This issue was opened on {issue.when}; the look lies before it.", "on")
    if issue.closed_on is not None and entry.earliest > issue.closed_on:
        raise Refused(f"This issue was closed on {issue.closed_on}; open it again, or begin a new one.", "on")
    refuse_after_end(issue.specimen, entry.earliest)
    write(entry, [issue.specimen], f"Looked at {issue.specimen.code}: {issue}")


def close_issue(issue: HealthIssue, day: date, outcome: Outcome, note: str = "") -> None:
    """How it ended, and when; a look is never later than the end, and a death closes what is open by itself."""
    if issue.outcome == Outcome.DIED.value:
        raise Refused(f"{issue.specimen.code} died of it or with it. Correct its death first.")
    refuse_after_end(issue.specimen, day)
    if day < issue.earliest:
        raise Refused(f"It was opened on {issue.when}; it cannot have ended before.", "on")
    later = issue.entries.filter(earliest__gt=day).first()
    if later is not None:
        raise Refused(f"It was still looked at on {later.when}; it cannot have ended before that.", "on")
    issue.closed_on, issue.outcome, issue.outcome_note = day, outcome.value, note
    write(issue, [issue.specimen], f"{issue} of {issue.specimen.code}: {outcome.label}")


def reopen_issue(issue: HealthIssue) -> None:
    """It was not over."""
    others = HealthIssue.objects.filter(specimen=issue.specimen, kind=issue.kind, closed_on__isnull=True)
    if others.exists():
        raise Refused("An open issue of this kind is on record.")
    if issue.specimen.standing.status == Status.DEAD.value:
        raise Refused(f"{issue.specimen.code} is dead. Correct its death first.")
    issue.closed_on, issue.outcome, issue.outcome_note = None, "", ""
    write(issue, [issue.specimen], f"{issue} of {issue.specimen.code}: open again")


def raise_concern(note: Note) -> None:
    """Somebody saw that something is wrong; it is asked for until it is answered."""
    refuse_after_end(note.specimen, note.earliest)
    note.wrong = True
    write(note, [note.specimen], f"Something is wrong with {note.specimen.code}")


def set_aside(note: Note, reason: str) -> None:
    """It was looked into, and is nothing to follow."""
    if note.issue_id is not None:
        raise Refused("An issue follows it already; close that one instead.")
    note.set_aside = reason
    write(note, [note.specimen], f"Answered: {note.specimen.code} is fine")


def usual_days(specimen: Specimen) -> int:
    """The days of quarantine that are common practice: longer for what was caught."""
    return health.WILD_DAYS if specimen.origin == Origin.WILD.value else health.QUARANTINE_DAYS


def begin_quarantine(quarantine: Quarantine) -> None:
    """Keep an animal apart from a day on."""
    specimen = quarantine.specimen
    refuse_after_end(specimen, quarantine.begins)
    if quarantine.until < quarantine.begins:
        raise Refused("The last day lies before the first.", "until")
    others = specimen.quarantines.open().exclude(pk=quarantine.pk)
    if quarantine.ended_on is None and others.exists():
        raise Refused(f"{specimen.code} is in quarantine already. Change its last day instead.")
    write(quarantine, [specimen], f"Quarantine of {specimen.code}")


def record_check(check: QuarantineCheck) -> None:
    """One look at an animal in quarantine."""
    kept = check.quarantine
    if check.latest < kept.begins or (kept.ended_on is not None and check.earliest > kept.ended_on):
        raise Refused("It was not in quarantine on that day.", "on")
    refuse_after_end(kept.specimen, check.earliest)
    write(check, [kept.specimen], f"Quarantine check of {kept.specimen.code}: {check.in_words}"[:200])


def end_quarantine(quarantine: Quarantine, day: date, why: str) -> None:
    """It goes to the others; what was left in doubt by the last look is in the way of an all clear."""
    last = quarantine.checks.first()
    if day < quarantine.begins:
        raise Refused("It cannot end before it began.", "on")
    if why == Quarantine.Ended.CLEAR.value and last is not None and health.doubtful(last.findings):
        doubts = ", ".join(health.doubtful(last.findings))
        raise Refused(f"The last look left in doubt: {doubts}. Look once more, or end it early.", "ended")
    quarantine.ended_on, quarantine.ended = day, why
    write(quarantine, [quarantine.specimen], f"Quarantine of {quarantine.specimen.code} ended")


def keep_apart(arrival: Arrival, specimens: Iterable[Specimen], today: date) -> None:
    """Quarantine for what came in a box, as long as the box says and while that is not over; once for each."""
    until = _until(arrival)
    if until is None or until < today:
        return
    for specimen in specimens:
        known = Quarantine.objects.filter(specimen=specimen).filter(Q(arrival=arrival) | Q(ended_on__isnull=True))
        if not known.exists():
            Quarantine(specimen=specimen, arrival=arrival, begins=arrival.on, until=until).save()


def _until(arrival: Arrival) -> date | None:
    return arrival.on + timedelta(days=arrival.quarantine_days) if arrival.quarantine_days else None


def save_arrival(arrival: Arrival, today: date) -> None:
    """A box that came, and the quarantine of what was in it; a last day that the keeper changed stays as it is."""
    was = Arrival.objects.filter(pk=arrival.pk).first()
    with transaction.atomic():
        arrival.save()
        until, before = _until(arrival), _until(was) if was is not None else None
        if was is not None and until is not None and before is not None:
            for kept in arrival.quarantines.open().filter(begins=was.on, until=before):
                kept.begins, kept.until = arrival.on, until
                kept.save()
        inside = list(arrival.specimens.here())
        keep_apart(arrival, inside, today)
        touched = [specimen.pk for specimen in inside]
        dues.refresh(touched)
        receipts.note(f"Arrival of {arrival.on}", touched)


@receipts.mends("collection.arrival")
def came_in(arrivals: Sequence[int]) -> list[int]:
    """Whose rest after arrival a box moves."""
    return list(Specimen.objects.filter(arrival__in=arrivals).values_list("pk", flat=True))


def apart_on_arrival(specimen: Specimen) -> None:
    """An animal that is entered out of a box goes where the box's others are."""
    gone = Standing.objects.filter(specimen=specimen, status__in=AWAY).exists()
    if specimen.arrival is not None and not gone:
        keep_apart(specimen.arrival, [specimen], timezone.localtime(specimen.entered_at).date())


on_saving["quarantine"] = apart_on_arrival


@at_the_end("quarantine")
def nobody_apart(specimen: Specimen, day: date) -> None:
    """Quarantine is over with the animal."""
    for quarantine in specimen.quarantines.open():
        quarantine.ended_on, quarantine.ended = max(day, quarantine.begins), Quarantine.Ended.GONE.value
        quarantine.save()


@at_death("health")
def close_by_death(specimen: Specimen, day: date) -> None:
    """What was wrong when it died is closed on that day."""
    for issue in HealthIssue.objects.filter(specimen=specimen, closed_on__isnull=True):
        issue.closed_on, issue.outcome = max(day, issue.earliest), Outcome.DIED.value
        issue.save()


@if_not_the_end("health")
def goes_on(specimen: Specimen, day: date) -> str:
    """What ended with an animal that did not end goes on."""
    for quarantine in specimen.quarantines.filter(ended=Quarantine.Ended.GONE.value, ended_on__gte=day)[:1]:
        quarantine.ended_on, quarantine.ended = None, ""
        quarantine.save()
    for issue in HealthIssue.objects.filter(specimen=specimen, outcome=Outcome.DIED.value, closed_on__gte=day):
        issue.closed_on, issue.outcome, issue.outcome_note = None, "", ""
        issue.save()
    return ""
