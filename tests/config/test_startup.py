"""Between `up` and the first page: what is unsafe is refused, what is done already is not done again."""

import logging
from pathlib import Path

import pytest
from django.core.management import call_command
from django.db import connection
from django.db.migrations.loader import MigrationLoader

from config import backup, daily, startup, static_files

MOUNTS = """\
sysfs /sys sysfs rw 0 0
/dev/sda1 / ext4 rw 0 0
nas:/share /mnt/nas nfs4 rw 0 0
//box/with\\040space /mnt/with\\040space cifs rw 0 0
/dev/sdb1 /mnt/nas/really-local ext4 rw 0 0
"""


@pytest.fixture
def mounts(tmp_path) -> Path:
    file = tmp_path / "mounts"
    file.write_text(MOUNTS)
    return file


@pytest.mark.parametrize(
    ("folder", "kind"),
    [
        ("/home/mara/scopula", ""),
        ("/mnt/nas/scopula", "nfs4"),
        ("/mnt/nas", "nfs4"),
        ("/mnt/nasty", ""),
        ("/mnt/with space/scopula", "cifs"),
        ("/mnt/nas/really-local/scopula", ""),
    ],
)
def test_a_network_share_is_recognised(mounts, folder, kind):
    assert startup.network_filesystem(Path(folder), mounts) == kind


@pytest.mark.django_db
def test_a_share_is_refused_with_what_to_do_instead(monkeypatch):
    monkeypatch.setattr(startup, "network_filesystem", lambda folder: "nfs4")
    with pytest.raises(startup.CannotStart, match="Choose a local folder with --data DIR"):
        startup.check_database(False, print)


@pytest.mark.django_db
def test_a_place_where_wal_does_not_hold_is_refused():
    with pytest.raises(startup.CannotStart, match="no shared memory"):  # the database of the tests lies in memory
        startup.check_database(False, print)


def test_a_folder_that_cannot_be_made_is_a_sentence(settings, tmp_path):
    (tmp_path / "file").touch()
    settings.DATA_DIR = tmp_path / "file" / "below"
    with pytest.raises(startup.CannotStart, match="Name another with --data DIR"):
        startup.make_folder()


@pytest.mark.django_db
def test_with_nothing_to_migrate_no_backup_is_made(settings, tmp_path):
    settings.BACKUP_DIR = tmp_path
    assert startup.migrate(print) is False
    assert backup.stored() == []


@pytest.mark.django_db
def test_the_names_on_the_disk_are_those_of_all_migrations():
    assert set(startup._named()) == set(MigrationLoader(connection).disk_migrations)


@pytest.mark.django_db(transaction=True)
def test_before_an_update_of_the_tables_there_is_a_backup(settings, tmp_path):
    settings.BACKUP_DIR = tmp_path
    call_command("migrate", "accounts", "zero", verbosity=0)
    said = []
    assert startup.migrate(said.append) is True
    assert [made.kind for made in backup.stored()] == ["migration"]
    assert "Backup before the update" in said[0]


def test_styles_are_built_once_and_again_when_one_changed(settings, tmp_path):
    (tmp_path / "source").mkdir()
    (tmp_path / "source" / "a.css").write_text("a { color: red }")
    settings.STATICFILES_DIRS, settings.STATIC_ROOT = [tmp_path / "source"], tmp_path / "built"
    assert static_files.build_if_changed()
    assert not static_files.build_if_changed()
    (tmp_path / "source" / "a.css").write_text("a { color: blue }")
    assert static_files.build_if_changed()
    assert "blue" in (tmp_path / "built" / "a.css").read_text()


def test_a_command_that_no_app_brings_is_passed_over():
    assert startup.run_if_there("no_such_command") is False


def test_a_chore_that_fails_is_logged_and_holds_up_no_other(monkeypatch, caplog):
    done = []

    def breaks():
        raise ZeroDivisionError

    monkeypatch.setattr(daily, "CHORES", [breaks, lambda: done.append("next")])
    with caplog.at_level(logging.ERROR):
        daily.do_chores()
    assert done == ["next"]
    assert "breaks failed" in caplog.text


def test_the_chores_are_done_once_a_day_and_the_thread_ends_with_the_server(monkeypatch):
    done = daily.threading.Event()
    monkeypatch.setattr(daily, "CHORES", [done.set])
    with daily.chores(first_look=0.0):
        assert done.wait(5)
    assert "daily chores" not in {thread.name for thread in daily.threading.enumerate()}
