"""Pictures on their pages: added many at once, each refused by itself, handed out to people of the house only."""

import io
from datetime import date

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from PIL import Image

from collection.models import Photo, Receipt
from collection.photos import intake, shelf
from tests import factories as make
from tests import pictures

pytestmark = [pytest.mark.django_db, pytest.mark.time_machine(make.NOW, tick=False)]
HTMX = {"HX-Request": "true"}
GOOD = pictures.jpeg()
OTHER = pictures.jpeg(120, 120, taken="")


@pytest.fixture(autouse=True)
def _media(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path / "photos"


@pytest.fixture
def animal():
    return make.SpecimenFactory(code="B-1")


def file(content=GOOD, name="IMG_1.jpg", said="image/jpeg"):
    return SimpleUploadedFile(name, content, said)


def send(client, animal, *files, once="k1", headers=None, **values):
    """Send the form, with each file in the field for many."""
    where = reverse("collection:photo-new", args=[animal.pk])
    return client.post(where, {"pictures": list(files), "once": once, **values}, headers=headers)


def one(client, animal, **values):
    send(client, animal, file(), **values)
    return Photo.objects.get()


def test_several_are_kept_at_once_each_with_the_day_of_its_camera(keeper_client, animal):
    answer = send(keeper_client, animal, file(), file(OTHER, "IMG_2.jpg"), on="2026-11-20", caption="fed well")
    assert answer["Location"] == reverse("collection:photo-list", args=[animal.pk])
    rows = list(Photo.objects.order_by("earliest"))
    assert [(row.earliest, row.caption) for row in rows] == [
        (date(2026, 3, 4), "fed well"),
        (date(2026, 11, 20), "fed well"),
    ]
    assert all(shelf.holds(row.name) and row.sha256 and row.size > 500 for row in rows)
    assert rows[0].history.get().history_user.username == "keeper"


def test_what_a_page_with_scripts_says_of_each_goes_before_its_camera(keeper_client, animal):
    said = {"days": ["2025-01-02", "2024-05-06"], "captions": ["one", "two"]}
    send(keeper_client, animal, file(), file(OTHER), **said)
    assert list(Photo.objects.values_list("earliest", "caption")) == [
        (date(2025, 1, 2), "one"),
        (date(2024, 5, 6), "two"),
    ]


def test_a_camera_whose_clock_runs_ahead_is_not_believed(keeper_client, animal):
    send(keeper_client, animal, file(pictures.jpeg(taken="2031:01:01 10:00:00")))
    assert Photo.objects.get().earliest == make.TODAY


def test_the_camera_field_counts_as_well(keeper_client, animal):
    where = reverse("collection:photo-new", args=[animal.pk])
    keeper_client.post(where, {"camera": file(), "once": "k"})
    assert Photo.objects.count() == 1


@pytest.mark.parametrize("headers", [None, HTMX])
def test_a_refused_file_stands_beside_those_that_were_kept(keeper_client, animal, headers):
    gif = pictures.encoded(Image.new("P", (9, 9)), "GIF")
    answer = send(keeper_client, animal, file(), file(gif, "liar.jpg"), file(b"<svg/>", "x.png"), headers=headers)
    text = answer.content.decode()
    assert answer.status_code == 200
    assert "Kept.</b> IMG_1.jpg" in text
    assert "liar.jpg: This is a GIF. Send JPEG, PNG, WebP or HEIC." in text
    assert "x.png: This is an SVG drawing." in text
    assert ("<html" in text, Photo.objects.count()) == (headers is None, 1)
    keeper_client.post(reverse("collection:undo", args=[Receipt.objects.get().pk]))
    assert Photo.objects.count() == 0


@pytest.mark.parametrize("headers", [None, HTMX])
def test_where_none_can_be_kept_the_form_comes_back_with_what_was_typed(keeper_client, animal, headers):
    answer = send(keeper_client, animal, file(b"moss", "moss.jpg"), caption="on moss", headers=headers)
    text = answer.content.decode()
    assert (answer.status_code, Photo.objects.count(), Receipt.objects.count()) == (422, 0, 0)
    assert "moss.jpg: This is not a picture that can be read." in text
    assert 'value="on moss"' in text


WRONG = {
    "Choose at least one picture.": ([], {}),
    "These are 21 pictures. Send at most 20 at once.": ([file(b"x")] * 21, {}),
    "This day lies in the future.": ([file()], {"on": "2026-12-05"}),
    "Enter a valid date.": ([file()], {"on": "soon"}),
}


@pytest.mark.parametrize("says", WRONG)
def test_a_form_that_is_wrong_as_a_whole_decodes_nothing(keeper_client, animal, says, monkeypatch):
    monkeypatch.setattr(intake, "take", lambda data: pytest.fail("it was decoded"))
    files, values = WRONG[says]
    answer = send(keeper_client, animal, *files, **values)
    assert (answer.status_code, says in answer.content.decode()) == (422, True)


def test_a_day_to_come_refuses_its_own_picture_alone(keeper_client, animal):
    answer = send(keeper_client, animal, file(), file(OTHER), days=["2027-01-01", "2026-01-01"], captions=["", ""])
    assert "This day lies in the future." in answer.content.decode()
    assert Photo.objects.get().earliest == date(2026, 1, 1)


def test_pictures_are_decoded_while_no_transaction_keeps_others_waiting(keeper_client, animal, monkeypatch):
    from django.db import connection

    depth = []
    plain = intake.take
    monkeypatch.setattr(intake, "take", lambda data: depth.append(len(connection.savepoint_ids)) or plain(data))
    outside = len(connection.savepoint_ids)
    send(keeper_client, animal, file())
    assert depth == [outside]


def test_the_same_picture_is_one_of_an_animal_and_may_be_one_of_another(keeper_client, animal):
    send(keeper_client, animal, file(), file(), once="a")
    again = send(keeper_client, animal, file(), once="b")
    assert "This picture of B-1 is on file already: 2026-03-04." in again.content.decode()
    send(keeper_client, make.SpecimenFactory(code="B-2"), file(), once="c")
    assert Photo.objects.count() == 2


def test_the_same_form_twice_keeps_one(keeper_client, animal):
    first, second = (send(keeper_client, animal, file()) for _ in range(2))
    assert (first["Location"], Photo.objects.count()) == (second["Location"], 1)


def test_it_is_handed_out_whole_and_for_good_to_people_of_the_house(keeper_client, helper_client, animal):
    photo = one(keeper_client, animal)
    for url, kind, typed in ((photo.large_url, "jpg", "image/jpeg"), (photo.small_url, "webp", "image/webp")):
        answer = helper_client.get(url, headers={"Accept-Encoding": "gzip"})
        content = b"".join(answer.streaming_content)
        assert content == shelf.path_of(photo.name, kind).read_bytes()
        assert (answer["Content-Type"], answer["X-Content-Type-Options"]) == (typed, "nosniff")
        assert answer["Cache-Control"] == "private, max-age=31536000, immutable"
        assert int(answer["Content-Length"]) == len(content)
        answer.close()
        assert helper_client.get(url, headers={"If-None-Match": answer["ETag"]}).status_code == 304
    assert Client().get(photo.large_url)["Location"].startswith("/sign-in/?next=/photos/")


@pytest.mark.parametrize("name", ["x", "..%2f..%2fsecret-key", "0" * 32, "%2e%2e/%2e%2e/scopula.sqlite3", "a/../b"])
def test_no_address_leads_to_another_file(keeper_client, animal, name):
    one(keeper_client, animal)
    assert keeper_client.get(f"/photos/{name}.jpg").status_code == 404


@pytest.mark.parametrize("name", ["../x", "", "A" * 32, "0" * 31, "0" * 32 + "/"])
def test_only_names_of_our_own_making_lead_to_files(name):
    with pytest.raises(ValueError, match="not the name of a picture"):
        shelf.path_of(name, "jpg")


def test_a_record_whose_file_was_lost_is_a_missing_page_and_no_error(keeper_client, animal):
    photo = one(keeper_client, animal)
    shelf.throw_away(photo.name)
    assert keeper_client.get(photo.large_url).status_code == 404
    assert keeper_client.get(photo.get_absolute_url()).status_code == 200


def test_nothing_of_the_camera_reaches_the_disk(keeper_client, animal):
    photo = one(keeper_client, animal)
    stored = shelf.path_of(photo.name, "jpg").read_bytes()
    assert len(Image.open(io.BytesIO(stored)).getexif()) == 0
    assert b"Invented" not in stored
    assert "IMG_1" not in photo.name
    assert shelf.path_of(photo.name, "jpg").stat().st_mode & 0o077 == 0


def test_a_helper_adds_pictures_and_leaves_the_words_to_the_keeper(helper_client, animal):
    photo = one(helper_client, animal)
    assert photo.history.get().history_user.username == "helper"
    page = helper_client.get(photo.get_absolute_url()).content.decode()
    edit = reverse("collection:photo-edit", args=[animal.pk, photo.pk])
    assert edit not in page
    assert helper_client.get(edit).status_code == 403


def test_a_picture_of_another_animal_is_not_shown_under_this_one(keeper_client, animal):
    photo = one(keeper_client, animal)
    other = make.SpecimenFactory()
    for name in ("photo-detail", "photo-edit"):
        assert keeper_client.get(reverse(f"collection:{name}", args=[other.pk, photo.pk])).status_code == 404
