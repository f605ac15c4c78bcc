"""Health on an animal's page, in the register, and in its full history; and what it was doing when it died."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from typing import Any

from django.db.models import F, Q

from collection import health, panels, traces
from collection.dates import say_date
from collection.health import Sign
from collection.models import Death, HealthIssue, Note, Quarantine, Specimen
from collection.panels import Column, Filter, Happening, LogForm, Panel, PanelKind
from collection.specimen_panels import alive, single
from collection.stages import Group

SHOWN = 6


def concerns_of(specimen: Specimen) -> list[tuple[Note, list[str]]]:
    """What somebody saw and nobody answered, with the signs in words."""
    group = Group(specimen.taxon.group)
    rows = traces.some([specimen.pk], specimen.notes.filter(wrong=True, issue__isnull=True, set_aside=""))
    return [(note, [health.sign_label(Sign(sign), group) for sign in note.signs]) for note in rows]


def panel(specimen: Specimen, today: date) -> Panel | None:
    """What is wrong, and since when; quarantine; what was."""
    newest = (F("closed_on").desc(nulls_first=True), "-earliest", "-id")  # what is open first
    ids = [specimen.pk]
    if traces.lacks(ids, HealthIssue, Quarantine, Note):
        return None
    issues = list(traces.some(ids, specimen.health_issues.order_by(*newest))[:SHOWN])
    quarantine = next(iter(traces.some(ids, specimen.quarantines.all())[:1]), None)
    concerns = concerns_of(specimen)
    if not (issues or quarantine or concerns):
        return None
    open_issues = [issue for issue in issues if issue.closed_on is None]
    context: dict[str, Any] = {
        "concerns": concerns,
        "open": open_issues,
        "closed": [issue for issue in issues if issue.closed_on is not None],
        "quarantine": quarantine,
    }
    note = "open" if open_issues else "in quarantine" if quarantine and quarantine.ended_on is None else ""
    kept = quarantine if quarantine is not None and quarantine.ended_on is None else None
    head = in_words(open_issues, kept.until if kept else None) if alive(specimen) else ""
    return Panel("collection/_panel_health.html", context, note, head)


def end(specimen: Specimen, today: date) -> Panel | None:
    """How it died, and what it was doing then."""
    if specimen.standing.status != "dead":
        return None
    death = Death.objects.get(specimen=specimen)
    context = {"death": death, "doing": panels.doing(specimen, death.when.middle)}
    return Panel("collection/_panel_death.html", context, death.get_cause_display())


def losses(specimen: Specimen, today: date) -> Panel | None:
    """Of a group: how many died, when and of what."""
    rows = [] if single(specimen) else list(specimen.head_losses.all()[: SHOWN * 2])
    if not rows:
        return None
    return Panel("collection/_panel_losses.html", {"rows": rows}, f"{sum(row.number for row in rows)} of the group")


def state_of(ids: Sequence[int]) -> Mapping[int, str]:
    """In words, what is wrong with each of these animals, and who is kept apart; who is well is not in it."""
    found: dict[int, list[HealthIssue]] = defaultdict(list)
    for issue in HealthIssue.objects.open().filter(specimen__in=ids).order_by("earliest", "id"):
        found[issue.specimen_id].append(issue)
    kept = dict(Quarantine.objects.open().filter(specimen__in=ids).values_list("specimen_id", "until"))
    return {pk: in_words(found[pk], kept.get(pk)) for pk in [*found, *(pk for pk in kept if pk not in found)]}


def in_words(issues: Sequence[HealthIssue], until: date | None) -> str:
    """What is open, and until when it is kept apart."""
    words = [f"ill: {issue}" for issue in issues]
    return "; ".join([*words, f"in quarantine until {until:%Y-%m-%d}"] if until else words)


WELL, ILL, SPREADS, APART, UNANSWERED = "well", "ill", "spreads", "quarantine", "concern"


def choices() -> list[tuple[str, str]]:
    """What the register can be narrowed to."""
    return [
        (ILL, "ill"),
        (SPREADS, "may spread"),
        (UNANSWERED, "something is wrong"),
        (APART, "in quarantine"),
        (WELL, "nothing open"),
    ]


def narrow(found: Any, value: str) -> Any:
    """Animals with something open, something that may spread, something unanswered; kept apart, or none of it."""
    issues = HealthIssue.objects.filter(closed_on__isnull=True)
    asked = Note.objects.filter(wrong=True, issue__isnull=True, set_aside="")
    sets = {
        ILL: Q(pk__in=issues.values("specimen")),
        SPREADS: Q(pk__in=issues.contagious().values("specimen")),
        UNANSWERED: Q(pk__in=asked.values("specimen")),
        APART: Q(pk__in=Quarantine.objects.open().values("specimen")),
    }
    if value == WELL:
        return found.exclude(sets[ILL] | sets[UNANSWERED] | sets[APART])
    return found.filter(sets[value]) if value in sets else found


def happenings(specimen: Specimen) -> Iterator[Happening]:
    """Issues with their looks, quarantine with its checks, losses of a group."""
    for issue in specimen.health_issues.prefetch_related("entries"):
        yield Happening(issue.earliest, str(issue.when), "ill", ". ".join(filter(None, [str(issue), issue.seen])))
        for entry in issue.entries.all():
            detail = ", ".join(filter(None, [str(issue), entry.course, entry.seen]))
            yield Happening(entry.earliest, str(entry.when), "looked at", detail)
        if issue.closed_on:
            detail = f"{issue}: {issue.get_outcome_display()}. {issue.outcome_note}".strip(" .")
            yield Happening(issue.closed_on, str(issue.closed_on), "issue closed", detail)
    for kept in specimen.quarantines.prefetch_related("checks"):
        yield Happening(kept.begins, str(kept.begins), "quarantine", f"until {kept.until}")
        for check in kept.checks.all():
            yield Happening(check.earliest, str(check.when), "quarantine check", check.in_words)
        if kept.ended_on:
            yield Happening(kept.ended_on, str(kept.ended_on), "quarantine ended", kept.get_ended_display())
    for loss in specimen.head_losses.all():
        detail = ", ".join(filter(None, [f"{loss.number} died", loss.get_cause_display(), loss.post_mortem]))
        yield Happening(loss.earliest, str(loss.when), "some died", detail)


def doing(specimen: Specimen, day: date) -> Iterator[str]:
    """What the bottom app knows of a day: the last molt, a molt to come, what was wrong, quarantine."""
    if single(specimen):
        yield from _molting(specimen, day)
    for issue in specimen.health_issues.filter(earliest__lte=day):
        if issue.closed_on is None or issue.closed_on >= day:
            yield f"{issue} since {say_date(issue.when)}"
    for kept in specimen.quarantines.filter(begins__lte=day):
        if kept.ended_on is None or kept.ended_on >= day:
            yield f"in quarantine since {say_date(kept.begins)}"
    if specimen.standing.mature_since and specimen.standing.mature_since <= day:
        yield f"a mature male for {days_between(specimen.standing.mature_since, day)}"


def _molting(specimen: Specimen, day: date) -> Iterator[str]:
    molt = specimen.molts.filter(earliest__lte=day).first()
    if molt is None:
        yield "no molt on record"
        return
    yield f"{days_between(molt.when.middle, day)} after its last molt"
    begins, likely = specimen.standing.molt_begins, specimen.standing.molt_likely
    if begins and likely and begins <= day:
        yield f"the next molt was to be expected from {say_date(begins)}, likeliest around {say_date(likely)}"


def days_between(earlier: date, later: date) -> str:
    """A number of days, in words."""
    days = (later - earlier).days
    return "1 day" if days == 1 else f"{days} days"


def _may_quarantine(specimen: Specimen) -> bool:
    return alive(specimen)


panels.timelines["health"] = happenings
panels.doings["collection"] = doing
panels.register(PanelKind("death", "Death", 1, end))
panels.register(PanelKind("losses", "Deaths in it", 14, losses))
panels.register(PanelKind("health", "Health", 15, panel))
panels.register_column(Column("health", "health", 15, state_of))
panels.register_filter(Filter("health", "health", choices, narrow))
panels.register_form(LogForm("concern", "Something is wrong", "collection:concern-new", 52, alive))
panels.register_form(LogForm("health", "Health issue", "collection:health-new", 53, alive))
panels.register_form(LogForm("quarantine", "Quarantine", "collection:quarantine-new", 54, _may_quarantine))
panels.register_form(LogForm("headloss", "Some died", "collection:headloss-new", 46, lambda s: not single(s)))
