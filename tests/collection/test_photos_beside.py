"""Pictures beside each other, beside their skin and its evidence, and in order."""

from datetime import date, timedelta

import pytest
from django.urls import reverse

from collection.models import Measurement, Photo
from collection.photos import shelf
from collection.photos.intake import Picture
from tests import factories as make

pytestmark = [pytest.mark.django_db, pytest.mark.time_machine(make.NOW, tick=False)]


@pytest.fixture(autouse=True)
def _media(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path / "photos"


@pytest.fixture
def animal():
    return make.SpecimenFactory(code="B-1")


def photo_of(animal, day, number=0, **values):
    """A record with files that are no real picture."""
    row = Photo(specimen=animal, earliest=day, sha256=f"{day} {number}", width=800, height=600, size=2, **values)
    shelf.put(row.name, Picture(b"a", b"b", 800, 600, None))
    row.save()
    return row


def page(client, name, *args, **query):
    return client.get(reverse(f"collection:{name}", args=args), query).content.decode()


def test_before_and_after_go_by_the_day_and_then_by_the_order_of_adding(animal):
    third = photo_of(animal, date(2026, 3, 1))
    first = photo_of(animal, date(2026, 1, 1))
    fourth = photo_of(animal, date(2026, 3, 1), 2)
    second = photo_of(animal, date(2026, 2, 1))
    photo_of(make.SpecimenFactory(), date(2026, 2, 2))
    order = [first, second, third, fourth]
    rows = animal.photos
    assert [rows.newer_than(row).first() for row in order] == [second, third, fourth, None]
    assert [rows.older_than(row).first() for row in order] == [None, first, second, third]


def test_a_picture_has_the_size_of_its_day(keeper_client, animal):
    make.molted(animal, date(2026, 1, 10), carapace_mm=21)
    make.molted(animal, date(2026, 6, 10), carapace_mm=25)
    Measurement.objects.create(specimen=animal, earliest=date(2026, 2, 1), leg_span_mm=88)
    between = photo_of(animal, date(2026, 3, 1))
    text = page(keeper_client, "photo-detail", animal.pk, between.pk)
    assert "carapace <b>21 mm</b>" in text
    assert "leg span <b>88 mm</b>" in text
    assert "not measured by then" in page(
        keeper_client, "photo-detail", animal.pk, photo_of(animal, date(2025, 1, 1)).pk
    )


def test_two_stand_side_by_side_with_what_lies_between_them(keeper_client, animal):
    make.molted(animal, date(2026, 1, 10), carapace_mm=21)
    make.molted(animal, date(2026, 6, 10), carapace_mm=25)
    old, new = photo_of(animal, date(2026, 1, 20)), photo_of(animal, date(2026, 6, 29))
    middle = photo_of(animal, date(2026, 2, 1))
    text = page(keeper_client, "photo-compare", animal.pk)
    assert "160 days and 1 molt lie between them: carapace from 21 to 25 mm." in text
    assert text.index(old.large_url) < text.index(new.large_url)
    chosen = page(keeper_client, "photo-compare", animal.pk, of=middle.pk, **{"and": old.pk})
    assert "12 days and 0 molts lie between them." in chosen
    assert chosen.index(old.large_url) < chosen.index(middle.large_url)
    assert "160 days" in page(keeper_client, "photo-compare", animal.pk, of="x", **{"and": "9999"})


def test_two_need_two(keeper_client, animal):
    assert "B-1 has none so far." in page(keeper_client, "photo-compare", animal.pk)
    photo_of(animal, date(2026, 1, 1))
    assert "B-1 has one so far." in page(keeper_client, "photo-compare", animal.pk)


def test_the_panel_shows_the_latest_and_leads_to_the_rest(keeper_client, animal):
    assert "No picture yet." in page(keeper_client, "specimen-detail", animal.pk)
    rows = [photo_of(animal, date(2026, 1, 1) + timedelta(days=n)) for n in range(10)]
    text = page(keeper_client, "specimen-detail", animal.pk)
    assert "All 10 pictures" in text
    assert [row.small_url in text for row in rows] == [False] * 2 + [True] * 8
    assert text.index(rows[9].small_url) < text.index(rows[8].small_url)
    assert all(row.small_url in page(keeper_client, "photo-list", animal.pk) for row in rows)


def test_words_day_and_skin_are_corrected_and_its_history_kept(keeper_client, animal):
    molt = make.molted(animal, date(2026, 1, 10))
    row = photo_of(animal, date(2026, 1, 1))
    where = reverse("collection:photo-edit", args=[animal.pk, row.pk])
    sent = {"on": "2026-01-11", "caption": "spread in water", "molt": molt.pk, "once": "k"}
    assert keeper_client.post(where, sent)["Location"] == row.get_absolute_url()
    row.refresh_from_db()
    assert (row.earliest, row.caption, row.molt) == (date(2026, 1, 11), "spread in water", molt)
    assert "spread in water" in page(keeper_client, "photo-edit", animal.pk, row.pk)
    assert "Skin of" in page(keeper_client, "photo-detail", animal.pk, row.pk)


def test_a_picture_does_not_go_to_the_skin_of_another(keeper_client, animal):
    row, strange = photo_of(animal, date(2026, 1, 1)), make.molted(make.SpecimenFactory(), date(2026, 1, 1))
    make.molted(animal, date(2026, 1, 10))
    answer = keeper_client.post(
        reverse("collection:photo-edit", args=[animal.pk, row.pk]), {"on": "2026-01-11", "molt": strange.pk}
    )
    assert answer.status_code == 422


def test_what_shows_the_evidence_of_a_skin_is_a_picture_of_that_skin(keeper_client, animal):
    molt = make.molted(animal, date(2026, 1, 10))
    look = make.looked(animal, "female", date(2026, 1, 11), molt=molt)
    row = photo_of(animal, date(2026, 1, 11))
    where = reverse("collection:photo-edit", args=[animal.pk, row.pk])
    keeper_client.post(where, {"on": "2026-01-11", "evidence": look.pk})
    row.refresh_from_db()
    assert (row.molt, row.evidence) == (molt, look)


def test_a_molt_with_its_picture_is_not_taken_away_under_it(keeper_client, animal):
    molt = make.molted(animal, date(2026, 1, 10))
    photo_of(animal, date(2026, 1, 10), molt=molt)
    where = reverse("collection:molt-edit", args=[animal.pk, molt.pk])
    answer = keeper_client.post(where, {"remove": "1"})
    assert (answer.status_code, animal.molts.count()) == (422, 1)


def test_pictures_are_lines_of_the_whole_history(keeper_client, animal):
    photo_of(animal, date(2026, 1, 10), caption="on cork")
    assert "on cork" in page(keeper_client, "specimen-history", animal.pk)


def test_the_picture_of_a_skin_stands_beside_its_molt_and_its_evidence(keeper_client, animal):
    molt = make.molted(animal, date(2026, 1, 10), carapace_mm=20, exuvia_kept=True)
    look = make.looked(animal, "female", date(2026, 1, 11), molt=molt)
    add = reverse("collection:photo-new", args=[animal.pk])
    assert f"{add}?molt={molt.pk}" in page(keeper_client, "specimen-growth", animal.pk)
    assert f"{add}?evidence={look.pk}" in page(keeper_client, "specimen-evidence", animal.pk)
    chosen = page(keeper_client, "photo-new", animal.pk, molt=molt.pk)
    assert f'<option value="{molt.pk}" selected>' in chosen
    row = photo_of(animal, date(2026, 1, 11), molt=molt)
    for name in ("specimen-growth", "specimen-evidence", "specimen-detail"):
        assert row.small_url in page(keeper_client, name, animal.pk)
    assert f"{add}?molt=" not in page(keeper_client, "specimen-growth", animal.pk)
