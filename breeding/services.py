"""Writes of breeding: pairings, meetings, signs, sacs and counts."""

from __future__ import annotations

from datetime import date

from django.db import transaction

from breeding import broodwords, signs
from breeding.models import EggSac, HeadCount, Meeting, Pairing, Sign, SpermWeb
from collection import dues, receipts
from collection.evidence import follows
from collection.models import SexEvidence, Specimen
from collection.services import Refused, refuse_after_end, remove, write
from collection.sexing import Finding, Method
from collection.stages import Group

LAID = "laid a sac"  # marks the evidence that a sac brought by itself
follows[LAID] = "sac"


def check_pair(pairing: Pairing) -> None:
    """The female is not known to be a male, nor he a female; two taxa only with a reason in words."""
    female, male = pairing.female, pairing.male
    if female.standing.probably_male:
        raise Refused(f"The evidence says that {female.code} is a male. Weigh the evidence first.")
    if male is None:
        return
    if male == female:
        raise Refused(f"A pairing takes two animals; {female.code} alone is none.", "other")
    if male.standing.probably_female:
        raise Refused(f"The evidence says that {male.code} is a female. Weigh the evidence first.")
    if male.taxon_id != female.taxon_id and not pairing.cross_reason.strip():
        raise Refused(
            f"{female.code} is {female.taxon}, {male.code} is {male.taxon}. "
            "Say why two taxa are paired; the young stay marked as hybrids."
        )


def animals_of(pairing: Pairing) -> list[Specimen]:
    """Both animals, as far as known."""
    return [animal for animal in (pairing.female, pairing.male) if animal is not None]


def record_pairing(pairing: Pairing, meeting: Meeting | None = None) -> Pairing:
    """A pairing, planned, or done with its first meeting."""
    check_pair(pairing)
    animals = animals_of(pairing)
    with transaction.atomic():
        pairing.save()
        if meeting is not None:
            for animal in animals:
                refuse_after_end(animal, meeting.earliest)
            meeting.pairing = pairing
            meeting.save()
        dues.refresh([animal.pk for animal in animals])
        receipts.note(f"Pairing {pairing}", [animal.pk for animal in animals])
    return pairing


def refuse_absent(pairing: Pairing, day: date) -> None:
    """Nobody meets who has died or left by that day."""
    for animal in animals_of(pairing):
        refuse_after_end(animal, day)


def running_pairing(female: Specimen, male: Specimen | None) -> Pairing | None:
    """The pairing of these two that one more meeting joins: no sac came of it, and she has not molted since."""
    known = Pairing.objects.filter(female=female, male=male).order_by("-id").first()
    if male is None or known is None or known.sacs.exists():
        return None
    last = known.meetings.order_by("-latest").first()
    shed = last is not None and female.molts.filter(latest__gte=last.latest).exists()
    return None if shed else known


def record_meeting(meeting: Meeting) -> Meeting:
    """One more meeting of a pairing."""
    animals = animals_of(meeting.pairing)
    for animal in animals:
        refuse_after_end(animal, meeting.earliest)
    write(meeting, animals, f"Meeting of {meeting.pairing}")
    return meeting


def note_before(pairing: Pairing) -> Pairing:
    """What the keeper noted before a meeting: a way out, a retreat, what to watch for."""
    write(pairing, animals_of(pairing), f"Noted before a meeting of {pairing}")
    return pairing


def record_sign(sign: Sign) -> Sign:
    """A sign seen on a female."""
    refuse_after_end(sign.female, sign.earliest)
    write(
        sign, [sign.female], f"Sign on {sign.female.code}: {signs.word_of(sign.kind, Group(sign.female.taxon.group))}"
    )
    return sign


def record_sperm_web(web: SpermWeb) -> SpermWeb:
    """A sperm web of a male."""
    if web.male.standing.probably_female:
        raise Refused(f"The evidence says that {web.male.code} is a female. Weigh the evidence first.")
    refuse_after_end(web.male, web.earliest)
    write(web, [web.male], f"Sperm web of {web.male.code}")
    return web


def record_sac(sac: EggSac) -> EggSac:
    """A sac; it belongs to the pairing since her last molt when there is one."""
    refuse_after_end(sac.female, sac.earliest)
    before = EggSac.objects.filter(pk=sac.pk).first()
    with transaction.atomic():
        if before is None:
            sac.pairing = sac.pairing or _pairing_before(sac)
        elif sac.pairing_id == before.pairing_id and before.pairing == _pairing_before(before):
            sac.pairing = _pairing_before(sac)  # nobody chose it: it moves with the day
        _keep_evidence_of(sac, before)
        write(sac, [sac.female], f"{sac.word.capitalize()} of {sac.female.code}")
    return sac


def remove_sac(sac: EggSac) -> None:
    """Take a sac away that was none, with the evidence of a female that it brought."""
    with transaction.atomic():
        evidence = _evidence_of(sac)
        if evidence is not None:
            evidence.delete()
        remove(sac, [sac.female], f"Took away: {sac}")


def _evidence_of(sac: EggSac) -> SexEvidence | None:
    """The evidence that a sac on record brought by itself."""
    return SexEvidence.objects.filter(
        specimen=sac.female, method=Method.SAC.value, note=LAID, earliest=sac.earliest, latest=sac.latest
    ).first()


def _keep_evidence_of(sac: EggSac, before: EggSac | None) -> None:
    """Whoever lays is a female: near proof, weighed with the rest. It moves with the day of the sac."""
    if before is None:
        evidence = SexEvidence(specimen=sac.female, method=Method.SAC.value, finding=Finding.FEMALE.value, note=LAID)
    else:
        known = _evidence_of(before)
        if known is None or before.when == sac.when:
            return
        evidence = known
    evidence.earliest, evidence.latest = sac.earliest, sac.latest
    evidence.save()


def _pairing_before(sac: EggSac) -> Pairing | None:
    """The pairing of her last meeting before the sac and after her last molt before it."""
    molted = sac.female.molts.filter(latest__lte=sac.latest).order_by("-latest").first()
    meetings = Meeting.objects.filter(pairing__female=sac.female, earliest__lte=sac.latest)
    if molted is not None:
        meetings = meetings.filter(latest__gt=molted.earliest)
    last = meetings.select_related("pairing").order_by("-latest", "-id").first()
    return last.pairing if last else None


def record_head_count(count: HeadCount) -> HeadCount:
    """A count; more animals than at the count before of the same stage cannot come from nowhere."""
    others = HeadCount.objects.filter(sac=count.sac, stage=count.stage).exclude(pk=count.pk)
    twice = others.filter(earliest=count.earliest, latest=count.latest).first()
    if twice is not None:
        stage = broodwords.words_of(Group(count.sac.female.taxon.group)).labels.get(count.stage, count.stage)
        raise Refused(f"{twice.alive} {stage} were counted on {twice.when} already. Mend that count instead.", "on")
    before = others.filter(earliest__lte=count.earliest).order_by("-earliest", "-id").first()
    after = others.filter(earliest__gt=count.earliest).order_by("earliest", "id").first()
    if before is not None:
        _refuse_from_nowhere(before, count)
    if after is not None:
        _refuse_from_nowhere(count, after)
    write(count, [count.sac.female], f"Count of the {count.sac.word} of {count.sac.female.code}: {count.alive}")
    return count


def _refuse_from_nowhere(earlier: HeadCount, later: HeadCount) -> None:
    """Two counts, each of every head, in which animals appear."""
    found = later.alive + later.dead
    if earlier.how == later.how == "counted" and found > earlier.alive:
        raise Refused(
            f"On {earlier.when} {earlier.alive} were counted alive at this stage, on {later.when} {later.alive} alive "
            f"and {later.dead} dead: {found - earlier.alive} too many.",
            "alive",
        )
