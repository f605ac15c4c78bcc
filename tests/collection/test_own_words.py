"""What is measured, pictured and logged of an animal is asked in the words of its group."""

from datetime import date

import pytest

from collection.forms.events import MeasureForm
from collection.models import Measurement
from tests import factories as make

pytestmark = [pytest.mark.django_db, pytest.mark.time_machine(make.NOW, tick=False)]
DAY = date(2026, 11, 1)


def one_of(group, **values):
    return make.SpecimenFactory(taxon__group=group, **values)


def text(client, animal, part=""):
    return " ".join(client.get(f"{animal.get_absolute_url()}{part}").content.decode().split())


@pytest.mark.parametrize(
    ("group", "asked"),
    [
        ("tarantula", ["Leg span, mm", "Carapace length, mm", "Body length, mm", "abdomen"]),
        ("scorpion", ["Carapace length, mm", "Body length, mm"]),
        ("mantis", ["Pronotum length, mm", "Body length, mm", "abdomen"]),
        ("beetle", ["Head capsule width, mm", "Length of the larva, mm"]),
        ("isopod", ["Body length, mm"]),
    ],
)
def test_a_measurement_asks_for_what_the_group_has(group, asked):
    form = MeasureForm(specimen=one_of(group))
    labels = [field.label.lower() for name, field in form.fields.items() if name.endswith("_mm")]
    assert len(labels) == len(asked)
    assert all(any(word.lower() in label for label in labels) for word in asked)
    shown = [field.name for field in form.first_fields()]
    assert ("body_mm" in shown) == (group not in {"tarantula"})


def test_a_size_on_record_stays_to_be_corrected_whatever_the_group():
    mantis = one_of("mantis")
    row = Measurement.objects.create(specimen=mantis, leg_span_mm=80, earliest=DAY)
    assert "leg_span_mm" in MeasureForm(specimen=mantis, instance=row).fields


def test_the_animals_page_and_its_history_name_sizes_as_the_group_does(keeper_client):
    mantis = one_of("mantis")
    Measurement.objects.create(
        specimen=mantis, carapace_mm=21.5, body_mm=64, stage_seen="subadult", mass_g=2.5, earliest=DAY
    )
    said = text(keeper_client, mantis)
    assert 'data-label="pronotum length" data-unit="mm">21.5</td>' in said
    assert 'data-label="stage">subadult nymph</td>' in said
    assert "leg span" not in said
    assert "pronotum length 21.5 mm, body length 64 mm" in text(keeper_client, mantis, "everything/")


@pytest.mark.parametrize(
    ("group", "webs"), [("tarantula", True), ("true_spider", True), ("beetle", False), ("whip_spider", False)]
)
def test_only_spiders_are_asked_for_sperm_webs(keeper_client, group, webs):
    assert ("/sperm-web/" in text(keeper_client, one_of(group))) == webs


def test_pictures_of_a_culture_are_not_of_its_skins(keeper_client):
    culture = one_of("isopod", kind="culture")
    for part in ("", "photos/"):
        said = text(keeper_client, culture, part)
        assert "of the tub" in said or "the tub, and its animals" in said
        assert "skin" not in said[said.index("<main") : said.index("</main>")]
