"""Stopping waits for nobody: a backup in hand is thrown away, and what was saved stays saved."""

import os
import threading
import time

import pytest
from django.db import connection

from config import backup, daily, static_files

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture(autouse=True)
def _photos(settings, tmp_path):
    """A shelf and a photo of its own."""
    settings.DATA_DIR, settings.BACKUP_DIR, settings.MEDIA_ROOT = tmp_path, tmp_path / "backups", tmp_path / "photos"
    (tmp_path / "photos").mkdir()
    (tmp_path / "photos" / "a.jpg").write_bytes(b"\xff\xd8")


def endless(begun: threading.Event):
    """A photo that has no end."""

    def chunks(path):
        while True:
            begun.set()
            time.sleep(0.01)
            yield b"x"

    return chunks


def test_a_backup_in_hand_is_given_up_when_the_server_stops(monkeypatch, settings, caplog):
    begun = threading.Event()
    monkeypatch.setattr(backup, "_chunks", endless(begun))
    monkeypatch.setattr(daily, "CHORES", [daily._back_up])
    with daily.chores(first_look=0.0):
        assert begun.wait(10)
        asked = time.monotonic()
    assert time.monotonic() - asked < 2.0
    assert list(settings.BACKUP_DIR.iterdir()) == []
    assert "failed" not in caplog.text
    assert not backup.stopping.is_set()


def test_after_a_stop_no_further_chore_is_begun(monkeypatch):
    begun, done = threading.Event(), []
    held = threading.Event()
    monkeypatch.setattr(daily, "CHORES", [lambda: begun.set() or held.wait(1), lambda: done.append("second")])
    with daily.chores(first_look=0.0):
        assert begun.wait(10)
    assert done == []


def test_a_chore_that_does_not_end_is_not_waited_for_long(monkeypatch):
    held = threading.Event()
    monkeypatch.setattr(daily, "CHORES", [lambda: held.wait(30)])
    monkeypatch.setattr(daily, "PATIENCE", 0.2)
    with daily.chores(first_look=0.0):
        asked = time.monotonic()
    assert time.monotonic() - asked < 2.0
    held.set()
    backup.stopping.clear()


def test_what_a_killed_backup_left_is_cleared_after_a_day_and_one_in_hand_is_not(settings):
    for name, hours in (("old", 25), ("new", 1)):
        left = settings.BACKUP_DIR / f".making-{name}"
        left.mkdir(parents=True)
        os.utime(left, (time.time() - hours * 3600,) * 2)
    backup.prune()
    assert [path.name for path in settings.BACKUP_DIR.iterdir()] == [".making-new"]


def test_once_a_day_sqlite_counts_what_its_plans_rest_on():
    daily._let_sqlite_look()
    with connection.cursor() as cursor:
        assert cursor.execute("PRAGMA analysis_limit").fetchone() == (400,)
    assert daily._let_sqlite_look in daily.CHORES


def test_two_that_build_the_styles_at_once_leave_them_whole(settings, tmp_path):
    (tmp_path / "source").mkdir()
    for number in range(20):
        (tmp_path / "source" / f"{number}.css").write_text("a { color: red }" * 50)
    settings.STATICFILES_DIRS, settings.STATIC_ROOT = [tmp_path / "source"], tmp_path / "built"
    problems: list[BaseException] = []

    def build():
        try:
            static_files.build_if_changed()
        except BaseException as problem:
            problems.append(problem)

    threads = [threading.Thread(target=build) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert problems == []
    assert {f"{number}.css" for number in range(20)} < {path.name for path in (tmp_path / "built").iterdir()}
    assert not static_files.build_if_changed()
    assert [path.name for path in tmp_path.iterdir() if path.name.startswith(".built")] == []
