"""Records for tests. Every animal comes with its standing and its dues, as the program itself would have left them."""

from datetime import date, datetime, time
from typing import Any

import factory
from django.utils import timezone
from factory.django import DjangoModelFactory

from breeding import services as breeding
from breeding.models import EggSac, Meeting, Pairing
from collection import dues, health_services, services
from collection.models import (
    Contact,
    Death,
    Departure,
    HealthIssue,
    Molt,
    Note,
    Quarantine,
    SexEvidence,
    Specimen,
    Taxon,
)
from husbandry import services as husbandry
from husbandry.models import Enclosure, Feeding, FeedRhythm, Hold, Place

TODAY = date(2026, 12, 4)
NOW = "2026-12-04T09:00:00+00:00"  # ten in the morning in the house


class TaxonFactory(DjangoModelFactory):
    """An invented tarantula: 14 to 16 cm, a sac two to four months after pairing."""

    class Meta:
        model = Taxon

    name = factory.Sequence(lambda n: f"Fictor specimen{chr(97 + n // 26 % 26)}{chr(97 + n % 26)}{n}")
    authorship = "Nobody, 1900"
    group = "tarantula"
    lifestyle = "terrestrial"
    adult_size_min_mm = 140.0
    adult_size_max_mm = 160.0
    sac_months_min = 2.0
    sac_months_max = 4.0


class SpecimenFactory(DjangoModelFactory):
    """An animal bought two years ago and known since; its first days are long over."""

    class Meta:
        model = Specimen

    code = factory.Sequence(lambda n: f"A-{n:04d}")
    taxon = factory.SubFactory(TaxonFactory)
    acquired_earliest = acquired_latest = date(2024, 11, 1)
    how = "bought"
    entered_at = timezone.make_aware(datetime.combine(date(2024, 11, 1), time(12)))

    @classmethod
    def _create(cls, model_class: Any, *args: Any, **kwargs: Any) -> Specimen:
        made: Specimen = super()._create(model_class, *args, **kwargs)
        dues.refresh([made.pk])
        return Specimen.objects.for_display().get(pk=made.pk)


class ContactFactory(DjangoModelFactory):
    class Meta:
        model = Contact

    name = factory.Sequence(lambda n: f"Contact {n}")


class EnclosureFactory(DjangoModelFactory):
    class Meta:
        model = Enclosure

    code = factory.Sequence(lambda n: f"E-{n:04d}")


def place(name: str = "Rack", kind: str = "rack", parent: Place | None = None, order: int = 0) -> Place:
    """A place in the walking order."""
    return husbandry.save_place(Place(name=name, kind=kind, parent=parent, order=order))


def fresh(specimen: Specimen) -> Specimen:
    """The same animal with its standing of now."""
    return Specimen.objects.for_display().get(pk=specimen.pk)


def molted(specimen: Specimen, day: date, latest: date | None = None, **values: Any) -> Molt:
    molt = Molt(specimen=specimen, earliest=day, latest=latest or day, **values)
    services.record_molt(molt)
    return molt


def tray(number: int = 30, day: date = date(2026, 10, 20), **values: Any) -> list[Specimen]:
    """Singles of one clutch with a molt each, from S-01 on; worked out once for all, since one by one takes long."""
    taxon = TaxonFactory()
    rows = [
        SpecimenFactory.build(code=f"S-{n:02d}", taxon=taxon, clutch="B-001/1", how="bred")
        for n in range(1, number + 1)
    ]
    made = Specimen.objects.bulk_create(rows)
    Molt.objects.bulk_create(Molt(specimen=one, earliest=day, latest=day, **values) for one in made)
    dues.refresh(one.pk for one in made)
    return list(Specimen.objects.for_display().filter(clutch="B-001/1").order_by("code"))


def fed(specimen: Specimen, day: date, outcome: str = "taken", **values: Any) -> Feeding:
    return husbandry.record_feeding(Feeding(specimen=specimen, on=day, outcome=outcome, **values))


def rhythm(specimen: Specimen, days: int, since: date = date(2024, 11, 1)) -> FeedRhythm:
    return husbandry.set_rhythm(FeedRhythm(specimen=specimen, days=days, since=since))


def held(specimen: Specimen, begins: date, ends: date | None = None, kind: str = "illness", reason: str = "") -> Hold:
    return husbandry.set_hold(Hold(specimen=specimen, kind=kind, begins=begins, ends=ends, reason=reason))


def housed(specimen: Specimen, code: str = "", day: date = date(2024, 11, 1), **values: Any) -> Enclosure:
    """In an enclosure of its own."""
    enclosure = EnclosureFactory(**({"code": code} if code else {}), **values)
    husbandry.move(specimen, enclosure, day)
    return enclosure


def died(specimen: Specimen, day: date, latest: date | None = None, **values: Any) -> Death:
    death = Death(specimen=specimen, earliest=day, latest=latest or day, **values)
    services.record_death(death)
    return death


def left(specimen: Specimen, day: date, kind: str = "passed_on", **values: Any) -> Departure:
    departure = Departure(specimen=fresh(specimen), kind=kind, on=day, **values)
    services.record_departure(departure)
    return departure


def looked(specimen: Specimen, finding: str, day: date = date(2025, 1, 5), **values: Any) -> SexEvidence:
    """A skin of a grown animal under the loupe, unless said otherwise."""
    values = {"method": "exuvia", "size_mm": 120.0, "lens": "loupe"} | values
    evidence = SexEvidence(specimen=specimen, finding=finding, earliest=day, latest=day, **values)
    services.write(evidence, [specimen], "evidence")
    return evidence


def female(**values: Any) -> Specimen:
    """A female by her exuvia."""
    specimen = SpecimenFactory(**values)
    looked(specimen, "female")
    return fresh(specimen)


def male(mature: date | None = None, **values: Any) -> Specimen:
    """A male by his bulbs and hooks, mature since the day given."""
    specimen = SpecimenFactory(**values)
    looked(specimen, "male", mature or date(2025, 1, 5), method="mature_male", size_mm=None)
    return fresh(specimen)


def paired(
    dam: Specimen, day: date, latest: date | None = None, sire: Specimen | None = None, **values: Any
) -> Meeting:
    """A pairing with one meeting."""
    meeting = Meeting(earliest=day, latest=latest or day, **values)
    breeding.record_pairing(Pairing(female=dam, male=sire), meeting)
    return meeting


def laid(dam: Specimen, day: date, latest: date | None = None, **values: Any) -> EggSac:
    return breeding.record_sac(EggSac(female=dam, earliest=day, latest=latest or day, **values))


def ill(specimen: Specimen, kind: str, day: date, **values: Any) -> HealthIssue:
    """Something is wrong, since a day."""
    issue = HealthIssue(specimen=specimen, kind=kind, **{"earliest": day, "latest": day, **values})
    health_services.open_issue(issue)
    return HealthIssue.objects.select_related("specimen__standing").get(pk=issue.pk)


def worried(specimen: Specimen, *signs: str, day: date = TODAY, text: str = "") -> Note:
    """Somebody saw that something is wrong."""
    note = Note(specimen=specimen, earliest=day, latest=day, signs=list(signs), text=text)
    health_services.raise_concern(note)
    return note


def apart(specimen: Specimen, begins: date, until: date, **values: Any) -> Quarantine:
    """Kept apart from the others."""
    quarantine = Quarantine(specimen=specimen, begins=begins, until=until, **values)
    health_services.begin_quarantine(quarantine)
    return quarantine
