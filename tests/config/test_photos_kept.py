"""The files of pictures: kept a month after their record, part of every backup, back with it."""

from datetime import UTC, datetime, timedelta

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from collection import receipts
from collection.models import Photo, Receipt
from collection.photos import keeping, shelf
from config import backup, daily, restore
from tests import factories as make
from tests import pictures

pytestmark = pytest.mark.django_db(transaction=True)  # a backup sees only what is committed
NOW = datetime(2026, 12, 4, 9, tzinfo=UTC)


@pytest.fixture(autouse=True)
def _folders(settings, tmp_path):
    settings.DATA_DIR, settings.BACKUP_DIR, settings.MEDIA_ROOT = tmp_path, tmp_path / "backups", tmp_path / "photos"


@pytest.fixture
def photo(keeper_client):
    animal = make.SpecimenFactory(code="B-1")
    file = SimpleUploadedFile("a.jpg", pictures.jpeg())
    keeper_client.post(reverse("collection:photo-new", args=[animal.pk]), {"pictures": file, "once": "k"})
    return Photo.objects.get()


def at(days, time_machine):
    """The moment so many days later."""
    later = NOW + timedelta(days=days)
    time_machine.move_to(later)
    return later


def taken_away(client, photo):
    client.post(reverse("collection:photo-edit", args=[photo.specimen_id, photo.pk]), {"remove": "1", "once": "r"})
    assert not Photo.objects.exists()


def test_files_stay_for_a_month_after_their_record_and_come_back_with_it(keeper_client, time_machine, photo):
    at(40, time_machine)
    taken_away(keeper_client, photo)
    assert keeping.purge(at(69, time_machine)) == []
    receipts.undo(Receipt.objects.get(key="r"))
    assert b"".join(keeper_client.get(Photo.objects.get().large_url).streaming_content).startswith(b"\xff\xd8")
    assert keeping.purge(at(900, time_machine)) == []


def test_after_that_they_are_thrown_away_and_the_record_stays_away(keeper_client, time_machine, photo):
    at(40, time_machine)
    taken_away(keeper_client, photo)
    later = at(71, time_machine)
    assert keeping.purge(later) == [photo.name]
    assert (shelf.holds(photo.name), list(shelf.stored())) == (False, [])
    with pytest.raises(receipts.CannotUndo, match="thrown away a month after"):
        receipts.undo(Receipt.objects.get(key="r"))
    assert not Photo.objects.exists()


def test_an_entry_taken_back_keeps_its_files_for_the_same_month(time_machine, photo):
    at(10, time_machine)
    receipts.undo(Receipt.objects.get(key="k"))
    assert keeping.purge(at(39, time_machine)) == []
    assert keeping.purge(at(41, time_machine)) == [photo.name]


def test_what_was_never_finished_goes_too_and_what_is_not_ours_stays(settings):
    folder = settings.MEDIA_ROOT / "ab"
    folder.mkdir(parents=True)
    ours, unfinished, strange = f"{'ab' * 16}.jpg", f".{'cd' * 16}.webp", "holiday.jpg"
    for name in (ours, unfinished, strange):
        (folder / name).write_bytes(b"x")
    assert keeping.purge(datetime.now(UTC) + timedelta(days=29)) == []
    keeping.purge(datetime.now(UTC) + timedelta(days=31))
    assert [path.name for path in folder.iterdir() if path.name != unfinished] == [strange]


def test_the_server_looks_after_it_daily(monkeypatch):
    asked = []
    monkeypatch.setattr(keeping, "purge", asked.append)
    next(chore for chore in daily.CHORES if "picture" in chore.__name__)()
    assert len(asked) == 1


def test_a_backup_holds_every_finished_picture_and_nothing_half_written(photo):
    path = shelf.path_of(photo.name, "jpg")
    path.with_name(f".{'0' * 32}.jpg").write_bytes(b"half")
    names = [name for name in restore.examine(backup.make().path).files if name.startswith("photos/")]
    assert names == [f"photos/{photo.name[:2]}/{photo.name}.{kind}" for kind in ("jpg", "webp")]
