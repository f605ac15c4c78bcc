"""Where the data lives, and that an invented collection never lands among real animals."""

from pathlib import Path

import pytest

from config import data_dir


@pytest.fixture(autouse=True)
def home(monkeypatch, tmp_path):
    for name in ("SCOPULA_DATA", "XDG_DATA_HOME", "LOCALAPPDATA"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setattr(Path, "home", lambda: tmp_path)
    return tmp_path


@pytest.mark.parametrize(
    ("platform", "place"),
    [
        ("linux", ".local/share/scopula"),
        ("darwin", "Library/Application Support/Scopula"),
        ("win32", "AppData/Local/Scopula"),
    ],
)
def test_each_system_has_its_own_place_for_a_users_data(home, platform, place):
    assert data_dir.default(platform) == home / place


def test_the_systems_own_variables_are_heeded(monkeypatch, tmp_path):
    monkeypatch.setenv("XDG_DATA_HOME", "/srv/data")
    monkeypatch.setenv("LOCALAPPDATA", str(tmp_path / "Local"))
    assert data_dir.default("linux") == Path("/srv/data/scopula")
    assert data_dir.default("win32") == tmp_path / "Local" / "Scopula"


@pytest.mark.parametrize("words", [["--data", "/srv/spiders"], ["--data=/srv/spiders"]])
def test_data_is_taken_out_of_any_command(words):
    assert data_dir.choose(["manage.py", "backup", *words, "-v0"]) == ["manage.py", "backup", "-v0"]
    assert data_dir.current() == Path("/srv/spiders")


def test_data_without_a_folder_is_a_sentence():
    with pytest.raises(SystemExit, match="wants a folder"):
        data_dir.choose(["manage.py", "up", "--data", "--demo"])


def test_the_demo_lives_next_door():
    real = data_dir.current()
    assert data_dir.choose(["manage.py", "up", "--demo"]) == ["manage.py", "up", "--demo"]
    assert data_dir.current() == real.with_name("scopula-demo")


def test_the_demo_lives_next_door_to_a_folder_from_the_environment_too(monkeypatch):
    monkeypatch.setenv("SCOPULA_DATA", "/srv/spiders")
    data_dir.choose(["manage.py", "up", "--demo"])
    assert data_dir.current() == Path("/srv/spiders-demo")


def test_a_folder_that_was_asked_for_holds_the_demo():
    data_dir.choose(["manage.py", "up", "--demo", "--data", "/srv/try"])
    assert data_dir.current() == Path("/srv/try")


def test_the_secret_key_is_the_owners_alone_and_stays(tmp_path):
    data_dir.keep_secret_key(tmp_path, "first")
    data_dir.keep_secret_key(tmp_path, "second")
    assert data_dir.secret_key(tmp_path) == "first"
    assert (tmp_path / "secret-key").stat().st_mode & 0o077 == 0


def test_without_a_folder_every_process_has_a_key_of_its_own(tmp_path):
    assert data_dir.secret_key(tmp_path / "none") != data_dir.secret_key(tmp_path / "none")
