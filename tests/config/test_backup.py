"""A backup holds everything, says so, and can be trusted or is refused."""

import csv
import hashlib
import io
import json
import sqlite3
import zipfile
from datetime import UTC, datetime, timedelta

import pytest
import time_machine
from django.contrib.auth.models import User
from django.core.management import call_command

from config import backup
from husbandry.models import Reading, Sensor

pytestmark = pytest.mark.django_db(transaction=True)  # a backup sees only what is committed


@pytest.fixture(autouse=True)
def photo_house(settings, tmp_path):
    """A data folder of its own, with one photo in it."""
    settings.DATA_DIR, settings.BACKUP_DIR, settings.MEDIA_ROOT = tmp_path, tmp_path / "backups", tmp_path / "photos"
    (tmp_path / "photos" / "ab").mkdir(parents=True)
    (tmp_path / "photos" / "ab" / "cd.jpg").write_bytes(b"\xff\xd8 not much of a photo")
    return tmp_path


def opened(made: backup.Backup) -> zipfile.ZipFile:
    return zipfile.ZipFile(made.path)


def test_every_file_in_it_has_the_hash_that_the_manifest_says():
    with opened(backup.make()) as archive:
        files = json.loads(archive.read("manifest.json"))["files"]
        for name, said in files.items():
            assert hashlib.sha256(archive.read(name)).hexdigest() == said["sha256"]
        assert set(archive.namelist()) == {*files, "manifest.json"}
    assert "photos/ab/cd.jpg" in files


def test_the_database_in_it_stands_alone_and_holds_what_was_saved(tmp_path):
    User.objects.create_user("mara")
    with opened(backup.make()) as archive:
        archive.extract("scopula.sqlite3", tmp_path / "out")
        counts = json.loads(archive.read("manifest.json"))["counts"]
    copy = sqlite3.connect(tmp_path / "out" / "scopula.sqlite3")
    assert copy.execute("SELECT username FROM auth_user").fetchall() == [("mara",)]
    assert copy.execute("PRAGMA integrity_check").fetchone() == ("ok",)
    assert counts["auth_user"] == 1
    copy.close()


def test_readings_can_be_left_out_and_never_fill_a_sheet(tmp_path):
    made = Sensor.objects.create(name="Shelf", key="shelf")
    Reading.objects.create(sensor=made, at=1_796_400_000, celsius=2400)
    found = []
    for name, readings in (("with", True), ("without", False)):
        with opened(backup.make(readings=readings)) as archive:
            assert "tables/husbandry_reading.csv" not in archive.namelist()
            assert "tables/husbandry_sensor.csv" in archive.namelist()
            found.append(json.loads(archive.read("manifest.json"))["counts"]["husbandry_reading"])
            archive.extract("scopula.sqlite3", tmp_path / name)
    assert found == [1, 0]


def test_each_main_table_can_be_read_by_a_spreadsheet():
    with opened(backup.make()) as archive:
        tables = [name for name in archive.namelist() if name.startswith("tables/")]
        heading = next(csv.reader(io.StringIO(archive.read("tables/collection_taxon.csv").decode("utf-8-sig"))))
    assert "id" in heading
    assert not [name for name in tables if "historical" in name]
    assert len(tables) > 10


def test_a_table_that_an_update_has_yet_to_make_is_passed_over(monkeypatch):
    monkeypatch.setattr(backup, "main_tables", lambda: {"collection_taxon", "collection_of_tomorrow"})
    with opened(backup.make()) as archive:
        assert [name for name in archive.namelist() if name.startswith("tables/")] == ["tables/collection_taxon.csv"]


@pytest.mark.parametrize("cell", ["=1+1", "+cmd", "-x", "@sum", "\t=1"])
def test_a_cell_that_would_run_as_a_formula_is_made_harmless(cell):
    assert backup.harmless(cell) == "'" + cell


@pytest.mark.parametrize("cell", ["-2.5", "+3", "-2,5", "B. albiceps", "", None, 7, -3.5])
def test_numbers_and_words_pass_as_they_are(cell):
    assert backup.harmless(cell) == cell


def test_only_the_owner_can_read_it():
    made = backup.make()
    assert made.path.stat().st_mode & 0o077 == 0


def test_nothing_half_made_is_left_when_it_fails(monkeypatch, settings):
    monkeypatch.setattr(backup, "migrations_in", lambda copy: copy.execute("SELECT * FROM no_such_table"))
    with pytest.raises(backup.NotPossible, match="could not be made"):
        backup.make()
    assert list(settings.BACKUP_DIR.iterdir()) == []


def test_the_newest_is_known_and_none_when_there_is_none():
    assert backup.newest() is None
    made = backup.make()
    assert backup.newest() == made.made
    assert datetime.now(UTC) - made.made < timedelta(minutes=1)


def test_a_foreign_file_on_the_shelf_is_not_taken_for_a_backup(settings):
    settings.BACKUP_DIR.mkdir()
    (settings.BACKUP_DIR / "scopula-holiday.zip").write_bytes(b"")
    assert backup.stored() == []


def test_the_daily_one_is_made_once_a_day():
    with time_machine.travel(datetime(2026, 12, 4, 9, tzinfo=UTC), tick=False):
        assert backup.make_daily()
        assert backup.make_daily() is None
    with time_machine.travel(datetime(2026, 12, 5, 0, 30, tzinfo=UTC), tick=False):
        assert backup.make_daily()


def test_clearing_the_shelf_spares_what_was_asked_for():
    with time_machine.travel(datetime(2026, 12, 4, 9, tzinfo=UTC), tick=False) as clock:
        asked = backup.make()
        for _ in range(10):
            backup.make_daily()
            clock.shift(timedelta(days=1))
    kept = backup.stored()
    assert asked in kept
    assert len([one for one in kept if one.kind == "daily"]) == 8  # seven days, and the Sunday of the week before


def test_of_those_before_updates_the_last_five_stay():
    with time_machine.travel(datetime(2026, 12, 4, 9, tzinfo=UTC), tick=False) as clock:
        for _ in range(7):
            backup.make("migration")
            clock.shift(timedelta(hours=1))
    backup.prune()
    assert [one.made.hour for one in backup.stored()] == [15, 14, 13, 12, 11]


def test_the_command_says_where_the_file_is(capsys):
    call_command("backup")
    assert str(backup.stored()[0].path) in capsys.readouterr().out


def test_the_button_makes_one_and_the_list_offers_it(as_keeper):
    page = as_keeper.post("/settings/backups/make/", follow=True)
    name = backup.stored()[0].name
    assert f"/settings/backups/{name}" in page.content.decode()
    download = as_keeper.get(f"/settings/backups/{name}")
    assert b"".join(download.streaming_content)[:2] == b"PK"
    download.close()


def test_a_download_reaches_nothing_but_the_shelf(as_keeper, photo_house):
    (photo_house / "secret-key").write_text("x")
    for name in ("secret-key", "..%2Fsecret-key", "scopula-2026-12-04T090000Z-asked.zip"):
        assert as_keeper.get(f"/settings/backups/{name}").status_code == 404


def test_a_disk_that_takes_nothing_is_said_on_the_page(as_keeper, settings, tmp_path):
    settings.BACKUP_DIR = tmp_path / "photos" / "ab" / "cd.jpg" / "below-a-file"
    page = as_keeper.post("/settings/backups/make/", follow=True)
    assert "could not be made" in page.content.decode()
