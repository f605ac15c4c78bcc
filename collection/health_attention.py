"""What health wants noticed: what somebody saw, issues to look at again, quarantine and its checks."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from datetime import date, timedelta

from django.db.models import Max, Prefetch

from collection import attention, health
from collection.attention import Action, DueKind, Said, StoredDue, Urgency
from collection.dates import FuzzyDate, say_date, say_days
from collection.health import Sign
from collection.models import HealthEntry, HealthIssue, Note, Quarantine
from collection.querysets import HERE
from collection.stages import Group

TEXT = 140


def by_day(due_on: date, today: date, word: str, sentence: str, actions: tuple[Action, ...]) -> Said:
    """Due today, or so many days over; the word says of what."""
    over = (today - due_on).days
    if over <= 0:
        return Said(Urgency.DUE, word, sentence, actions)
    return Said(Urgency.OVER, f"{word}, {over} day{'s' if over > 1 else ''} over", sentence, actions)


def concerns(ids: Sequence[int]) -> Iterator[StoredDue]:
    """What somebody saw and nobody has answered yet, since its first day."""
    rows = Note.objects.filter(specimen__in=ids, wrong=True, issue__isnull=True, set_aside="")
    found: dict[int, list[Note]] = defaultdict(list)
    for row in rows.filter(specimen__standing__status__in=HERE).select_related("specimen__taxon").order_by("latest"):
        found[row.specimen_id].append(row)
    for pk, notes in found.items():
        group = Group(notes[0].specimen.taxon.group)
        signs = list(dict.fromkeys(sign for note in notes for sign in note.signs))
        words = [health.sign_label(Sign(sign), group) for sign in signs]
        text = notes[-1].text
        said = ". ".join(filter(None, [", ".join(words).capitalize(), text])).strip()
        facts = {"said": said[:TEXT], "dry": health.looks_dry(signs)}
        yield StoredDue(pk, notes[0].latest, notes[0].latest, facts)


def say_concern(due: StoredDue, today: date) -> Said:
    """What was seen, and since when; signs of dehydration are named as such."""
    seen = due.facts["said"].rstrip(".")
    sentence = f"{seen}. Seen {say_days((today - due.wanted_on).days)}."
    if due.facts["dry"]:
        sentence += " See that water is there and in reach; if it does not get up again, ask a vet."
    word = "signs of dehydration" if due.facts["dry"] else "something is wrong"
    return by_day(
        due.wanted_on, today, word, sentence, (Action("See to it", "collection:specimen-health", post=False),)
    )


def issues(ids: Sequence[int]) -> Iterator[StoredDue]:
    """Open issues of an animal: due when the first of them is to be looked at again."""
    looks = Prefetch("entries", HealthEntry.objects.order_by("-latest", "-id"), to_attr="looks")
    found: dict[int, list[tuple[date, HealthIssue, date]]] = defaultdict(list)
    for issue in HealthIssue.objects.open().filter(specimen__in=ids).prefetch_related(looks).order_by("id"):
        entries: list[HealthEntry] = getattr(issue, "looks", [])
        last = entries[0].latest if entries else issue.latest
        found[issue.specimen_id].append((issue.next_look(entries), issue, last))
    for pk, rows in found.items():
        day, first, last = min(rows, key=lambda row: (row[0], row[1].pk))
        facts = {
            "what": str(first),
            "since": str(first.when),
            "last": last.isoformat(),
            "others": [str(issue) for _, issue, _ in rows if issue != first],
        }
        yield StoredDue(pk, day, day, facts)


def say_issue(due: StoredDue, today: date) -> Said:
    """What is wrong, when it was looked at last."""
    facts = due.facts
    last = date.fromisoformat(facts["last"])
    also = f" Also: {', '.join(facts['others'])}." if facts["others"] else ""
    what = f"{facts['what'][:1].upper()}{facts['what'][1:]}"
    since = say_date(FuzzyDate.parse(facts["since"]), today)
    every = (due.wanted_on - last).days
    rule = f", a look wanted after {every} day{'s' if every > 1 else ''}" if every > 0 else ""
    sentence = f"{what}, since {since}; last looked at {say_days((today - last).days)}{rule}.{also}"
    return by_day(due.wanted_on, today, "look again", sentence, (Action("Look", "collection:health-look", post=False),))


def quarantines(ids: Sequence[int]) -> Iterator[StoredDue]:
    """Who is kept apart, and until when."""
    rows = Quarantine.objects.open().filter(specimen__in=ids, specimen__standing__status__in=HERE)
    for row in rows:
        yield StoredDue(row.specimen_id, row.begins, row.begins, {"until": row.until.isoformat()})


def say_quarantine(due: StoredDue, today: date) -> Said:
    """Since when and until when it is kept apart."""
    until = date.fromisoformat(due.facts["until"])
    sentence = f"Kept apart since {say_date(due.wanted_on, today)}; tools and water of its own, looked after last."
    actions = (Action("Check", "collection:quarantine", post=False),)
    return Said(Urgency.LOOK, f"in quarantine until {say_date(until, today)}", sentence, actions)


def checks(ids: Sequence[int]) -> Iterator[StoredDue]:
    """The next look at who is kept apart; on its last day it is asked whether quarantine is over."""
    rows = Quarantine.objects.open().filter(specimen__in=ids, specimen__standing__status__in=HERE)
    last: dict[int, date | None] = dict(rows.values_list("pk").annotate(looked=Max("checks__latest")).order_by())
    for row in rows:
        looked = last[row.pk]
        day = looked + timedelta(days=row.check_days) if looked else row.begins
        facts = {
            "last": looked.isoformat() if looked else None,
            "until": row.until.isoformat(),
            "every": row.check_days,
        }
        day = min(day, max(row.until, looked + timedelta(days=1)) if looked else row.until)
        yield StoredDue(row.specimen_id, day, day, facts)


def say_check(due: StoredDue, today: date) -> Said:
    """The look that is due, or the end."""
    last, until = due.facts["last"], date.fromisoformat(due.facts["until"])
    before = f"Last looked at {say_days((today - date.fromisoformat(last)).days)}" if last else "Not looked at yet"
    actions = (Action("Check", "collection:quarantine", post=False),)
    if today >= until:
        sentence = f"{before}. Its last day was {say_date(until, today)}: end the quarantine, or give it more days."
        return by_day(due.wanted_on, today, "quarantine over", sentence, actions)
    every = due.facts.get("every")
    rule = "" if every is None else ", a look every day" if every == 1 else f", a look every {every} days"
    sentence = f"{before}; in quarantine until {say_date(until, today)}{rule}."
    return by_day(due.wanted_on, today, "quarantine check", sentence, actions)


attention.register(DueKind("concern", "Something is wrong", concerns, say_concern, by_day=True, order=6))
attention.register(DueKind("health", "Health", issues, say_issue, by_day=True, order=8))
attention.register(DueKind("quarantine-check", "Quarantine checks", checks, say_check, by_day=True, order=35))
attention.register(DueKind("quarantine", "In quarantine", quarantines, say_quarantine, in_list=False, order=45))
