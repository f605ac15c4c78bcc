"""The environment of a bare clone: made once, and what is missing is named with its remedy."""

import json
import sys
from importlib.util import find_spec as real_find_spec

import pytest

from config import bootstrap


@pytest.fixture(autouse=True)
def clone(monkeypatch, tmp_path):
    """A clone without an environment."""
    for name, place in {"VENV": ".venv", "PYTHON": ".venv/bin/python", "STAMP": ".venv/installed.json"}.items():
        monkeypatch.setattr(bootstrap, name, tmp_path / place)
    monkeypatch.delenv("DATABASE_URL", raising=False)
    return tmp_path


def make_python():
    bootstrap.PYTHON.parent.mkdir(parents=True)
    bootstrap.PYTHON.touch()


def stamp(*extras):
    bootstrap.STAMP.write_text(json.dumps({extra: bootstrap.fingerprint(extra) for extra in extras}))


def test_a_stamped_environment_needs_nothing():
    make_python()
    stamp("")
    assert bootstrap.is_complete([])


def test_verify_wants_the_tools_as_well():
    make_python()
    stamp("")
    assert bootstrap.wanted_extras(["manage.py", "verify"]) == ["dev", "https"]
    assert not bootstrap.is_complete(["dev"])


def test_postgresql_is_installed_only_where_it_is_asked_for(monkeypatch):
    monkeypatch.setenv("DATABASE_URL", "postgres://u:p@h/scopula")
    assert bootstrap.wanted_extras(["manage.py", "up"]) == ["postgres"]
    assert bootstrap.requirements("postgres") == ["psycopg[binary]>=3.2"]


@pytest.mark.parametrize(("said", "extras"), [("1", ["https"]), ("yes", ["https"]), ("0", []), ("", [])])
def test_what_tls_needs_is_installed_only_where_it_is_asked_for(monkeypatch, said, extras):
    monkeypatch.setenv("SCOPULA_HTTPS", said)
    assert bootstrap.wanted_extras(["manage.py", "up"]) == extras


@pytest.mark.parametrize("content", ["", "{", '{"": "of another day"}'])
def test_a_stamp_that_does_not_fit_counts_for_nothing(content):
    make_python()
    bootstrap.STAMP.write_text(content)
    assert not bootstrap.is_complete([])


def test_a_new_pin_changes_the_stamp(monkeypatch, tmp_path):
    before = bootstrap.fingerprint()
    for name in ("pyproject.toml", "constraints.txt"):
        (tmp_path / name).write_text((bootstrap.BASE / name).read_text())
    with (tmp_path / "constraints.txt").open("a") as file:
        file.write("something==1.0\n")
    monkeypatch.setattr(bootstrap, "BASE", tmp_path)
    assert bootstrap.fingerprint() != before


@pytest.mark.parametrize("missing", ["venv", "ensurepip"])
def test_a_python_that_makes_no_environments_is_named_with_its_remedy(monkeypatch, missing):
    monkeypatch.setattr(
        bootstrap.importlib.util, "find_spec", lambda name: None if name == missing else real_find_spec(name)
    )
    with pytest.raises(bootstrap.CannotInstall, match="sudo apt install python3-venv"):
        bootstrap.make_environment()


@pytest.mark.parametrize(
    ("output", "words"),
    [
        (
            "NewConnectionError(... Name or service not known)\nERROR: No matching distribution found for django",
            "No connection",
        ),
        ("ERROR: Could not install packages due to an OSError: [Errno 28] No space left on device", "disk is full"),
        ("[SSL: CERTIFICATE_VERIFY_FAILED] certificate verify failed", "date and time"),
        ("ERROR: No matching distribution found for numpy==2.4.6", "64-bit Python"),
        ("PermissionError: [Errno 13] Permission denied: '.venv/lib'", "folder of your own"),
    ],
)
def test_the_installers_words_become_a_remedy(output, words):
    assert words in bootstrap.explain(output, "The packages could not be installed.")


def test_an_unknown_failure_is_cut_to_its_last_words():
    said = bootstrap.explain("\n".join(f"line {n}" for n in range(200)), "No.")
    assert said.splitlines() == ["No. The installer's last words:", "  line 197", "  line 198", "  line 199"]


def test_without_a_network_the_person_reads_a_sentence_and_no_trace(monkeypatch):
    make_python()
    monkeypatch.setattr(bootstrap, "make_environment", lambda: None)
    monkeypatch.setattr(bootstrap, "_run_showing_names", lambda command: (1, "Failed to establish a new connection"))
    with pytest.raises(SystemExit, match="Only the first start needs the network"):
        bootstrap.ensure(["manage.py", "up"])


def test_after_installing_the_command_is_started_again_inside(monkeypatch):
    make_python()
    started = []
    monkeypatch.setattr(bootstrap, "make_environment", lambda: None)
    monkeypatch.setattr(bootstrap, "_run_showing_names", lambda command: (0, ""))
    monkeypatch.setattr(bootstrap, "start_again", started.append)
    bootstrap.ensure(["manage.py", "up", "--port", "9"])
    assert started == [["manage.py", "up", "--port", "9"]]
    assert bootstrap.is_complete([])


def test_the_installer_gets_the_pins_and_no_index_of_its_own(monkeypatch):
    make_python()
    commands = []
    monkeypatch.setattr(bootstrap, "_run_showing_names", lambda command: (commands.append(command), (0, ""))[1])
    bootstrap.install(["dev"])
    assert str(bootstrap.BASE / "constraints.txt") in commands[0]
    assert not [word for word in commands[0] if "index" in word or "://" in word]


def test_every_requirement_has_its_pin():
    pins = {line.partition("==")[0].lower() for line in (bootstrap.BASE / "constraints.txt").read_text().splitlines()}
    wanted = [name for extra in ("", "dev", "postgres") for name in bootstrap.requirements(extra)]
    names = {bootstrap.re.split(r"[\[><=]", name)[0].lower() for name in wanted}
    assert {name.replace("-", "_") for name in names} <= {pin.replace("-", "_") for pin in pins}


def test_the_pins_are_names_and_versions_only():
    lines = (bootstrap.BASE / "constraints.txt").read_text().splitlines()
    assert [line for line in lines if not bootstrap.re.fullmatch(r"#.*|[\w-]+==[\w.]+", line)] == []


def test_the_bootstrap_itself_needs_nothing_but_python():
    script = "import sys; import config.bootstrap, config.data_dir; print('django' in sys.modules)"
    done = bootstrap.subprocess.run(
        [sys.executable, "-S", "-c", script], cwd=bootstrap.BASE, capture_output=True, text=True
    )
    assert done.stdout.strip() == "False", done.stderr
