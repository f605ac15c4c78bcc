"""Readings from a real broker: killed amid a thousand messages, the listener loses none."""

import os
import shutil
import signal
import socket
import sqlite3
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest
from paho.mqtt.client import Client
from paho.mqtt.enums import CallbackAPIVersion

from tests.config.houses import BASE, environment, run

SEARCHED = f"{os.environ.get('PATH', '')}{os.pathsep}/usr/sbin"  # where Debian puts servers
MOSQUITTO, MAKES_PASSWORDS = (shutil.which(name, path=SEARCHED) for name in ("mosquitto", "mosquitto_passwd"))
MISSING = "No mosquitto here: no broker to listen to. Install it (Debian: apt install mosquitto)."
MESSAGES, KILLED_AT, BACK_AT = 1000, 300, 700
BEGINS = 1_760_000_000
SENSOR = "from husbandry.models import Sensor; Sensor.objects.create(name='Shelf 1', key='shelf1')"


@pytest.fixture
def port(tmp_path) -> Iterator[int]:
    """The port of a broker with a password and a list of who may what."""
    if not (MOSQUITTO and MAKES_PASSWORDS):
        if os.environ.get("CI"):
            pytest.fail(MISSING)
        pytest.skip(MISSING)
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        free = probe.getsockname()[1]
    folder = tmp_path / "broker"
    folder.mkdir()
    subprocess.run([MAKES_PASSWORDS, "-b", "-c", folder / "passwords", "rack", "secret"], check=True)
    (folder / "rights").write_text("user rack\ntopic readwrite rack/#\n")
    (folder / "settings").write_text(
        f"listener {free} 127.0.0.1\nallow_anonymous false\npassword_file {folder}/passwords\n"
        f"acl_file {folder}/rights\npersistence false\nmax_queued_messages 5000\n"
        + "user root\n"
        * (os.name == "posix")
    )
    broker = subprocess.Popen([MOSQUITTO, "-c", folder / "settings"], stderr=subprocess.DEVNULL)
    try:
        yield free
    finally:
        broker.terminate()
        broker.wait(10)


def listener(house: Path, port: int, password: str = "secret") -> subprocess.Popen[str]:
    """`listen`, already subscribed when it is returned."""
    command = [sys.executable, "-m", "django", "listen", f"--port={port}", "--user=rack"]
    seen = {**environment(house), "SCOPULA_MQTT_PASSWORD": password}
    process = subprocess.Popen(command, cwd=BASE, env=seen, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True)
    while (line := process.stdout.readline()) and "Listening at" not in line:
        pass  # the broker may still be starting
    return process


def sensor_at(port: int) -> Client:
    """What hangs at the rack and publishes."""
    client = Client(CallbackAPIVersion.VERSION2, client_id="probe")
    client.username_pw_set("rack", "secret")
    patience = time.monotonic() + 10
    while True:
        try:
            client.connect("127.0.0.1", port)
            break
        except OSError:
            assert time.monotonic() < patience, "the broker did not start"
            time.sleep(0.05)
    client.loop_start()
    return client


def stored(house: Path) -> list[tuple[int, int]]:
    with closing(sqlite3.connect(house / "scopula.sqlite3")) as database:
        return database.execute("SELECT at, celsius FROM husbandry_reading ORDER BY at").fetchall()


def wait_for(house: Path, number: int) -> None:
    patience = time.monotonic() + 60
    while len(stored(house)) < number:
        assert time.monotonic() < patience, f"{len(stored(house))} of {number} after a minute"
        time.sleep(0.1)


def message(number: int) -> str:
    return f'{{"value": {20 + number / 100}, "at": {BEGINS + 600 * number}}}'


def test_a_thousand_messages_with_the_listener_killed_amid_them_lose_none(house, port):
    run(house, "shell", "-v0", "-c", SENSOR)
    probe = sensor_at(port)
    process = listener(house, port)
    for number in range(MESSAGES):
        probe.publish("rack/shelf1/temperature", message(number), qos=1).wait_for_publish(10)
        if number == KILLED_AT:
            process.send_signal(signal.SIGKILL)
            process.communicate()
        if number == BACK_AT:
            process = listener(house, port)
    wait_for(house, MESSAGES)
    probe.disconnect()
    probe.loop_stop()
    process.send_signal(signal.SIGINT)
    said = process.communicate(timeout=20)[0]
    assert process.returncode == 0, said
    assert stored(house) == [(BEGINS + 600 * n, 2000 + n) for n in range(MESSAGES)]


def test_what_cannot_be_a_reading_is_refused_counted_and_let_go(house, port):
    run(house, "shell", "-v0", "-c", SENSOR)
    probe, process = sensor_at(port), listener(house, port)
    for topic, payload in (
        ("rack/shelf1/humidity", "140"),
        ("rack/nobody/humidity", "50"),
        ("rack/shelf1/humidity", "?"),
    ):
        probe.publish(topic, payload, qos=1).wait_for_publish(10)
    probe.publish("rack/shelf1/humidity", "61.5", qos=1).wait_for_publish(10)
    wait_for(house, 1)
    probe.disconnect()
    probe.loop_stop()
    process.send_signal(signal.SIGTERM)
    assert "1 stored, 3 refused" in process.communicate(timeout=20)[0]
    with closing(sqlite3.connect(house / "scopula.sqlite3")) as database:
        counts = database.execute("SELECT reason, count FROM husbandry_refusal ORDER BY reason").fetchall()
    assert counts == [("humidity", 1), ("sensor", 1), ("shape", 1)]


def test_a_wrong_password_ends_with_a_sentence(house, port):
    probe = sensor_at(port)  # it is up
    probe.disconnect()
    probe.loop_stop()
    process = listener(house, port, password="wrong")
    process.communicate(timeout=20)
    assert process.returncode == 1
