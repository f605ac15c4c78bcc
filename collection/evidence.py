"""Writes of sex evidence, and of the likelihoods it is weighed by.

Evidence is appended. What was wrong is withdrawn with a reason and stays readable; what was written down wrongly is
withdrawn and written anew, and the new entry names the old one.
"""

from __future__ import annotations

from collections.abc import Sequence

from django.db import transaction

from collection import dues, receipts
from collection.models import SexEvidence, SexLikelihood, Specimen
from collection.services import MATURED, Refused, write
from collection.sexing import Likelihoods, method_of, say_row

# Evidence that an event brought by itself, by its note: it comes, moves and goes with that event.
follows: dict[str, str] = {MATURED: "molt"}


def record(evidence: SexEvidence) -> None:
    """Append a look; the verdict follows by itself. The dead and the sold can still be looked at, by their skins."""
    specimen = evidence.specimen
    write(evidence, [specimen], f"Sex evidence of {specimen.code}: {evidence.finding}")


def record_many(looks: Sequence[SexEvidence]) -> None:
    """Append the looks at a tray, all or none: one entry, which is taken back as one."""
    touched = [look.specimen_id for look in looks]
    with transaction.atomic():
        for look in looks:
            look.save()
        dues.refresh(touched)
        receipts.note(f"Sex evidence of {len(looks)} animal{'' if len(looks) == 1 else 's'}", touched)


def withdraw(evidence: SexEvidence, reason: str) -> None:
    """Take a look out of the weighing, with a reason; the row stays."""
    _refuse_following(evidence)
    before = SexEvidence.objects.filter(pk=evidence.pk).exclude(withdrawn="").first()
    if before is not None:
        raise Refused(f"This entry was withdrawn before: {before.withdrawn}")
    evidence.withdrawn = reason
    write(evidence, [evidence.specimen], f"Withdrew evidence of {evidence.specimen.code}")


def mend(wrong: SexEvidence, mended: SexEvidence, reason: str) -> None:
    """Withdraw a look that was written down wrongly and append it as it should read."""
    _refuse_following(wrong)
    if wrong.withdrawn:
        raise Refused("This entry was withdrawn before. Log a new one instead.")
    specimen = wrong.specimen
    with transaction.atomic():
        wrong.withdrawn = reason
        wrong.save()
        mended.mends = wrong
        write(mended, [specimen], f"Mended evidence of {specimen.code}: {mended.finding}")


def _refuse_following(evidence: SexEvidence) -> None:
    event = follows.get(evidence.note)
    if event is not None:
        raise Refused(f"This evidence came by itself with a {event}. Correct or take away that {event}.")


def set_likelihood(row: str, likelihoods: Likelihoods) -> None:
    """Put the keeper's own figures in place of a row; every verdict that rests on it is worked out anew."""
    with transaction.atomic():
        SexLikelihood.objects.update_or_create(row=row, defaults=likelihoods._asdict())
        _weigh_anew(row, f"Changed how a look is weighed: {say_row(row)}")


def reset_likelihood(row: str) -> None:
    """The shipped figures of a row again."""
    with transaction.atomic():
        for own in SexLikelihood.objects.filter(row=row):
            own.delete()
        _weigh_anew(row, f"Reset how a look is weighed: {say_row(row)}")


def _weigh_anew(row: str, label: str) -> None:
    dues.reweigh(resting_on(row))
    receipts.note(label)


def resting_on(row: str) -> list[int]:
    """The animals whose verdict a row can move."""
    seen = SexEvidence.objects.filter(method=method_of(row).value, withdrawn="")
    return list(seen.order_by("specimen").values_list("specimen_id", flat=True).distinct())


@receipts.mends("collection.sexlikelihood")
def _weigh_all(rows: Sequence[int]) -> list[int]:
    """Weigh all that any method sexed: which rows of the table they were cannot be asked any more."""
    return dues.reweigh(Specimen.objects.filter(sex_evidence__isnull=False).values_list("pk", flat=True).distinct())
