"""`up` as a keeper meets it: what it prints, what it refuses, and how it ends."""

import re
import signal
import sqlite3
import subprocess
import sys
import threading
from contextlib import closing

import pytest

from config import restore
from config import server as serving
from tests.config import houses
from tests.config.houses import Browser, Server


@pytest.mark.parametrize("how", [signal.SIGINT, signal.SIGTERM])
def test_a_stop_is_clean_and_leaves_one_file(house, how):
    server = Server(house)
    with Browser(server.port) as browser:
        assert browser.ask("GET", "/sign-in/")[0] == 200
    assert server.stop(how) == 0
    assert "everything is saved" in server.said
    wal = house / "scopula.sqlite3-wal"
    assert not wal.exists() or wal.stat().st_size == 0


def test_the_first_start_prints_a_code_and_keeps_only_its_hash(tmp_path):
    server = Server(tmp_path / "new")
    code = re.search(r"Code for the first one: (\w{4}-\w{4})", server.said)[1]
    with Browser(server.port) as browser:
        assert "The keeper’s account" in browser.ask("GET", "/setup/")[1]
    assert server.stop() == 0
    assert code.replace("-", "") not in (tmp_path / "new" / "setup-code").read_text()


def test_with_an_account_no_code_is_printed(house):
    server = Server(house)
    server.stop()
    assert "Code for the first one" not in server.said


def test_a_second_server_on_the_same_data_is_told_so(house):
    first = Server(house)
    second = houses.run(house, "up", "--host=127.0.0.1", "--port=0", "--no-qr", check=False)
    assert second.returncode == 1
    assert "is running already" in second.stderr
    assert "Traceback" not in second.stderr
    assert first.stop() == 0


def test_a_port_that_is_taken_is_a_sentence_with_another_port(house, tmp_path):
    first = Server(house)
    other = houses.run(tmp_path / "b", "up", "--host=127.0.0.1", f"--port={first.port}", "--no-qr", check=False)
    assert other.returncode == 1
    assert f"Port {first.port} is taken. Choose another, for example: --port {first.port + 1}" in other.stderr
    assert "Traceback" not in other.stderr
    first.stop()


@pytest.mark.parametrize(
    ("host", "port", "words"),
    [
        ("127.0.0.1", 70000, "There is no port 70000"),
        ("192.0.2.1", 8000, "192.0.2.1, port 8000, cannot be opened"),  # an address that no machine has (RFC 5737)
    ],
)
def test_a_place_that_cannot_be_opened_is_a_sentence(house, host, port, words):
    refused = houses.run(house, "up", f"--host={host}", f"--port={port}", "--no-qr", check=False)
    assert refused.returncode == 1
    assert words in refused.stderr
    assert "Traceback" not in refused.stderr


PRAGMAS = """
from django.db import connection
for name in ("journal_mode", "synchronous", "foreign_keys", "busy_timeout"):
    print(name, connection.cursor().execute(f"PRAGMA {name}").fetchone()[0])
"""


def test_a_live_connection_syncs_every_commit_and_waits_for_its_turn(house):
    said = houses.run(house, "shell", "-v0", "-c", PRAGMAS).stdout.splitlines()
    assert said == ["journal_mode wal", "synchronous 2", "foreign_keys 1", "busy_timeout 20000"]


def test_a_backup_made_amid_writes_restores_with_the_counts_of_its_manifest(house, tmp_path):
    server = Server(house)
    begun, stop = threading.Event(), threading.Event()
    writer = threading.Thread(target=_write_notes, args=(server.port, begun, stop))
    writer.start()
    assert begun.wait(10)
    made = houses.run(house, "backup").stdout.split("  (")[0]
    stop.set()
    writer.join()
    assert server.stop() == 0
    said = restore.examine(houses.Path(made)).counts
    houses.run(tmp_path / "elsewhere", "restore", made, "--yes")
    with closing(sqlite3.connect(tmp_path / "elsewhere" / "scopula.sqlite3")) as database:
        counts = {table: database.execute(f'SELECT count(*) FROM "{table}"').fetchone()[0] for table in said}
    assert counts == said
    assert said["collection_note"] > 0


def _write_notes(port: int, begun: threading.Event, stop: threading.Event) -> None:
    with Browser(port) as browser:
        browser.ask("GET", "/sign-in/")
        browser.send("/sign-in/", username="keeper", password="clove-oak-29")
        number = 0
        while not stop.is_set():
            number += 1
            assert browser.send("/animals/1/note/", on="2025-06-01", text=f"{number}", once=f"{number}") == 302
            begun.set()


def test_a_restore_keeps_the_old_data_aside(house):
    made = houses.run(house, "backup").stdout.split("  (")[0]
    houses.run(
        house, "shell", "-v0", "-c", "from collection.models import Specimen; Specimen.objects.update(name='after')"
    )
    said = houses.run(house, "restore", made, "--yes").stdout
    aside = re.search(r"from before is in (\S+)", said)[1]
    assert _name_of_t1(house / "scopula.sqlite3") == ""
    assert _name_of_t1(houses.Path(aside) / "scopula.sqlite3") == "after"


def _name_of_t1(file) -> str:
    with closing(sqlite3.connect(file)) as database:
        return database.execute("SELECT name FROM collection_specimen WHERE code = 'T1'").fetchone()[0]


def test_a_running_house_is_not_restored_over(house):
    server = Server(house)
    made = houses.run(house, "backup").stdout.split("  (")[0]
    refused = houses.run(house, "restore", made, "--yes", check=False)
    assert refused.returncode == 1
    assert "Stop it" in refused.stderr
    assert server.stop() == 0


def test_the_addresses_lead_with_the_one_for_phones(monkeypatch):
    monkeypatch.setattr(serving, "lan_addresses", lambda: ["192.168.1.20"])
    assert serving.addresses("0.0.0.0", 8000) == ["http://192.168.1.20:8000/", "http://127.0.0.1:8000/"]
    assert serving.addresses("127.0.0.1", 80) == ["http://127.0.0.1:80/"]
    assert serving.addresses("::1", 8000) == ["http://[::1]:8000/"]


def test_the_code_for_the_camera_is_drawn_in_the_terminal():
    drawing = serving.qr("http://192.168.1.20:8000/")
    assert len(drawing.splitlines()) > 10
    assert set(drawing) & set("█▀▄")


def test_help_shows_an_example_and_every_option():
    for command, example in {"up": "--port 8080", "backup": "manage.py backup", "restore": "restore scopula-"}.items():
        words = [sys.executable, "-m", "django", command, "--help"]
        text = subprocess.run(
            words, cwd=houses.BASE, env=houses.environment(houses.BASE), capture_output=True, text=True
        ).stdout
        assert example in " ".join(text.split())


AS_KEEPER = """
import hashlib
from django.contrib.auth.models import User
from django.test import Client
from collection.models import Photo
client = Client(headers={"host": "localhost"})
client.force_login(User.objects.get())
"""
TAKE = """
from django.core.files.uploadedfile import SimpleUploadedFile
from tests import pictures
client.post("/animals/1/photo/", {"pictures": SimpleUploadedFile("a.jpg", pictures.jpeg()), "once": "k"})
"""
OPEN = """
answers = [client.get(url) for url in (Photo.objects.get().large_url, Photo.objects.get().small_url)]
print([(a.status_code, hashlib.sha256(b"".join(a.streaming_content)).hexdigest()) for a in answers])
"""


def test_a_picture_of_a_restored_backup_opens_as_before(house, tmp_path):
    before = houses.run(house, "shell", "-v0", "-c", AS_KEEPER + TAKE + OPEN).stdout
    made = houses.run(house, "backup").stdout.split("  (")[0]
    houses.run(tmp_path / "elsewhere", "restore", made, "--yes")
    assert before.count("(200, ") == 2
    assert houses.run(tmp_path / "elsewhere", "shell", "-v0", "-c", AS_KEEPER + OPEN).stdout == before
