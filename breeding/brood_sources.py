"""What clutches and loans want noticed: sacs to take or to look at, young about to come out, animals to give back."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import date, timedelta

from breeding import clutches
from breeding.development import NoForecast
from breeding.models import BroodShare, EggSac, Loan
from collection import attention
from collection.attention import Action, DueKind, HouseItem, Said, StoredDue, Urgency
from collection.dates import say_date, say_days

REMIND = timedelta(days=14)  # before an animal is due back
TAKE, LOOK, YOUNG = "take", "look", "young"
WITH_HER_ELSEWHERE = ("loan_out", "passed_on", "missing")  # a sac not taken from her is where she is


def clutch_dues(ids: Sequence[int]) -> Iterator[StoredDue]:
    """For each female the next thing that one of her running sacs wants."""
    sacs = EggSac.objects.running().filter(female__in=ids).select_related("female__taxon", "female__standing")
    wanted: dict[int, StoredDue] = {}
    for sac in sacs.prefetch_related("checks", "head_counts").order_by("earliest"):
        if sac.taken_on is None and sac.female.standing.status in WITH_HER_ELSEWHERE:
            continue
        due = _next(sac)
        if due is not None and (sac.female_id not in wanted or due.wanted_on < wanted[sac.female_id].wanted_on):
            wanted[sac.female_id] = due
    yield from wanted.values()


def _next(sac: EggSac) -> StoredDue | None:
    """Look at what is in the incubator; take what can be taken; expect young where the sac stays with her."""
    words = clutches.words(sac)
    facts = {"brood": words.brood, "laid": sac.when.middle.isoformat(), "young": words.young}
    if sac.taken_on is not None:
        looks = [check.latest for check in sac.checks.all()] + [count.latest for count in sac.head_counts.all()]
        last = max([sac.taken_on, *looks])
        newest = max(sac.checks.all(), key=lambda check: (check.latest, check.pk), default=None)
        wrong = clutches.alarms(newest.celsius, newest.humidity, newest.look) if newest else []
        day = last if wrong else clutches.ahead(last)
        return StoredDue(sac.female_id, day, day, {**facts, "what": LOOK, "last": last.isoformat(), "wrong": wrong})
    windows = clutches.usual_windows(sac)
    if isinstance(windows, NoForecast):
        return None
    last_stage = windows[-1]
    legs = next((window for window in windows if window.stage == clutches.TAKEN_AT), None)
    if sac.kind == EggSac.Kind.CARRIED.value and legs is not None:
        return StoredDue(sac.female_id, legs.likely, legs.likely, {**facts, "what": TAKE}, last_stage.closes)
    return StoredDue(
        sac.female_id,
        last_stage.opens,
        last_stage.opens,
        {**facts, "what": YOUNG, "until": last_stage.closes.isoformat()},
        last_stage.closes + timedelta(days=30),
    )


def say_clutch(due: StoredDue, today: date) -> Said:
    """What her clutch wants, and why."""
    facts = due.facts
    laid = (today - date.fromisoformat(facts["laid"])).days
    brood = facts["brood"]
    door = Action("Open its page", "breeding:clutch-of", post=False)
    if facts.get("wrong"):
        return Said(Urgency.OVER, f"{brood} in danger", " ".join(facts["wrong"]), (door,))
    if facts["what"] == LOOK:
        last = say_date(date.fromisoformat(facts["last"]), today)
        sentence = f"Day {laid} of the {brood}; last looked at on {last}. Look for mould, dents and legs."
        return Said(Urgency.LOOK, f"look at the {brood}", sentence, (door,))
    if facts["what"] == TAKE:
        sentence = f"Day {laid} of the {brood}: legs are likely by now, so it can be taken. Later is safer."
        return Said(Urgency.LOOK, f"{brood} to take", sentence, (door,))
    until = say_date(date.fromisoformat(facts["until"]), today)
    sentence = f"Day {laid} of the {brood}: {facts['young']} may come out until {until}. Have cups ready."
    return Said(Urgency.LOOK, f"{facts['young']} expected", sentence, (door,))


def loan_dues(ids: Sequence[int]) -> Iterator[StoredDue]:
    """Animals that are to be given back, or to come back."""
    open_loans = Loan.objects.filter(specimen__in=ids, ended_on__isnull=True, due_back_on__isnull=False)
    for loan in open_loans.select_related("contact"):
        assert loan.due_back_on is not None
        day = max(loan.due_back_on - REMIND, loan.since)
        facts = {"way": loan.way, "who": loan.contact.name, "back": loan.due_back_on.isoformat()}
        yield StoredDue(loan.specimen_id, day, day, facts)


def say_loan(due: StoredDue, today: date) -> Said:
    """Which way the animal goes, to whom and by when."""
    back = date.fromisoformat(due.facts["back"])
    who, by = due.facts["who"], say_date(back, today)
    if due.facts["way"] == Loan.Way.OUT.value:
        sentence = f"Lent to {who}, to be back by {by}. Ask for it in time."
    else:
        sentence = f"Belongs to {who} and is to be back there by {by}."
    late = f", {say_days((today - back).days)}" if today > back else ""
    action = Action("Back", "breeding:loan-end-of", post=False)
    return Said(Urgency.LOOK, "loan overdue" if late else "loan ends", f"{sentence[:-1]}{late}.", (action,))


@attention.house_source("shares of broods")
def shares_owed(today: date) -> Iterable[HouseItem]:
    """Shares that were to be delivered by today and are not."""
    late = BroodShare.objects.filter(due_on__lte=today).values("sac")
    sacs = list(EggSac.objects.filter(pk__in=late).select_related("female").prefetch_related("shares__to", "members"))
    for shares in clutches.shares_among(sacs).values() if sacs else ():
        for owed in shares:
            if owed.owed and owed.share.due_on and owed.share.due_on <= today:
                are = "is" if owed.owed == 1 else "are"
                sentence = (
                    f"{owed.owed} of the brood of {owed.share.sac.female.code} {are} owed to {owed.share.to}, "
                    f"by {say_date(owed.share.due_on, today)}."
                )
                yield HouseItem("Share of a brood", Said(Urgency.LOOK, "owed", sentence))


attention.register(DueKind("clutch", "Sacs and broods", clutch_dues, say_clutch, order=6))
attention.register(DueKind("loan", "Loans", loan_dues, say_loan, order=55))
