"""What is not exactly as its manifest says is refused, before anything is touched."""

import hashlib
import json
import zipfile

import pytest
from django.core.management import CommandError, call_command

from config import backup, restore, running

pytestmark = pytest.mark.django_db(transaction=True)  # a backup sees only what is committed


@pytest.fixture
def made(settings, tmp_path):
    settings.DATA_DIR, settings.BACKUP_DIR, settings.MEDIA_ROOT = tmp_path, tmp_path / "backups", tmp_path / "photos"
    (tmp_path / "photos").mkdir()
    (tmp_path / "photos" / "a.jpg").write_bytes(b"photo")
    return backup.make().path


def rewritten(path, change, **extra_files):
    """The same backup, with its manifest or its files changed by a stranger."""
    target = path.with_name("changed.zip")
    with zipfile.ZipFile(path) as old, zipfile.ZipFile(target, "w") as new:
        files = {name: old.read(name) for name in old.namelist()}
        manifest = json.loads(files.pop("manifest.json"))
        change(files, manifest)
        for name, content in {**files, **extra_files}.items():
            new.writestr(name, content)
        new.writestr("manifest.json", json.dumps(manifest))
    return target


def test_an_untouched_backup_passes_and_says_what_it_holds(made):
    contents = restore.examine(made)
    assert contents.counts["django_migrations"] > 10
    assert "photos/a.jpg" in contents.files


def test_a_photo_that_was_changed_is_named(made):
    changed = rewritten(made, lambda files, _: files.update({"photos/a.jpg": b"other"}))
    with pytest.raises(backup.NotPossible, match=r"photos/a\.jpg .* changed"):
        restore.examine(changed)


def test_a_database_that_was_changed_is_refused(made):
    changed = rewritten(made, lambda files, _: files.update({"scopula.sqlite3": files["scopula.sqlite3"][:-1] + b"x"}))
    with pytest.raises(backup.NotPossible, match=r"scopula\.sqlite3"):
        restore.examine(changed)


def test_a_file_that_was_taken_out_or_slipped_in_is_noticed(made):
    for change in (lambda files, _: files.pop("photos/a.jpg"), lambda files, _: files.update({"photos/b.jpg": b"x"})):
        with pytest.raises(backup.NotPossible, match="not those of its manifest"):
            restore.examine(rewritten(made, change))


@pytest.mark.parametrize("name", ["../secret-key", "/etc/passwd", "photos/../../x", "secret-key"])
def test_a_file_that_would_land_elsewhere_is_refused(made, name):
    def slip_in(files, manifest):
        files[name] = b"x"
        manifest["files"][name] = {"sha256": hashlib.sha256(b"x").hexdigest(), "bytes": 1}

    with pytest.raises(backup.NotPossible, match="strange name"):
        restore.examine(rewritten(made, slip_in))


def test_a_backup_of_a_newer_version_is_refused_with_the_remedy(made):
    def from_tomorrow(files, manifest):
        manifest["migrations"]["collection"].append("9999_tomorrow")

    with pytest.raises(backup.NotPossible, match=r"newer version .* Update Scopula first"):
        restore.examine(rewritten(made, from_tomorrow))


def test_a_newer_format_is_refused(made):
    with pytest.raises(backup.NotPossible, match="newer version"):
        restore.examine(rewritten(made, lambda _, manifest: manifest.update(format=99)))


def test_a_file_that_grows_beyond_what_it_said_is_not_read_to_its_end(made):
    def bomb(files, manifest):
        files["photos/a.jpg"] = b"\0" * 50_000_000

    with pytest.raises(backup.NotPossible, match=r"photos/a\.jpg"):
        restore.examine(rewritten(made, bomb))


@pytest.mark.parametrize("content", [b"", b"PK\x03\x04 not a zip", b"hello"])
def test_something_else_is_said_to_be_something_else(tmp_path, content):
    other = tmp_path / "letter.zip"
    other.write_bytes(content)
    with pytest.raises(backup.NotPossible, match="cannot be read as a backup"):
        restore.examine(other)


def test_a_zip_without_a_manifest_is_no_backup(tmp_path):
    other = tmp_path / "photos.zip"
    with zipfile.ZipFile(other, "w") as archive:
        archive.writestr("a.txt", "x")
    with pytest.raises(backup.NotPossible, match="no manifest"):
        restore.examine(other)


@pytest.mark.parametrize("manifest", ["[]", "{}", "not json", '{"format": "x", "migrations": []}'])
def test_a_manifest_that_is_damaged_is_said_to_be(tmp_path, manifest):
    other = tmp_path / "odd.zip"
    with zipfile.ZipFile(other, "w") as archive:
        archive.writestr("manifest.json", manifest)
    with pytest.raises(backup.NotPossible, match=r"manifest in odd\.zip is damaged"):
        restore.examine(other)


def test_a_running_server_keeps_its_data(made, tmp_path):
    with running.mark(tmp_path), pytest.raises(backup.NotPossible, match="is running on this data"):
        restore.restore(made)


def test_without_a_yes_nothing_happens(made, monkeypatch):
    monkeypatch.setattr("builtins.input", lambda question: "")
    with pytest.raises(CommandError, match="Nothing was changed"):
        call_command("restore", made)


def test_a_missing_file_is_said_to_be_missing(tmp_path):
    with pytest.raises(CommandError, match="There is no file"):
        call_command("restore", tmp_path / "gone.zip")
