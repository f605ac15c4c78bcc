"""The server is killed twenty times amid writes: the database stays whole, and no acknowledged row is lost."""

import random
import signal
import sqlite3
import threading
import time
from contextlib import closing, suppress
from http.client import HTTPException

from tests.config.conftest import PASSWORD
from tests.config.houses import Browser, Server

KILLS, WRITERS = 20, 3


def signed_in(server: Server) -> dict[str, str]:
    """The cookies of the keeper: the session outlives the servers."""
    with Browser(server.port) as browser:
        browser.ask("GET", "/sign-in/")
        assert browser.send("/sign-in/", username="keeper", password=PASSWORD) == 302
        return browser.cookies


def write_until_killed(port: int, cookies: dict[str, str], name: str, acknowledged: list[str]) -> None:
    """Log one note after another; a note counts when the server has answered that it is in."""
    with Browser(port, cookies) as browser, suppress(OSError, HTTPException):
        for number in range(10_000):
            text = f"{name}-{number}"
            status = browser.send("/animals/1/note/", on="2025-06-01", text=text, once=text)
            assert status == 302, status
            acknowledged.append(text)


def one_round(house, number: int, cookies: dict[str, str], acknowledged: list[str]) -> dict[str, str]:
    """Start, write from several browsers at once, kill."""
    server = Server(house)
    cookies = cookies or signed_in(server)
    writers = [
        threading.Thread(target=write_until_killed, args=(server.port, cookies, f"{number}-{writer}", acknowledged))
        for writer in range(WRITERS)
    ]
    before, deadline = len(acknowledged), time.monotonic() + 10
    for writer in writers:
        writer.start()
    while len(acknowledged) < before + WRITERS and time.monotonic() < deadline:
        time.sleep(0.01)  # a busy machine may need a while for the first answer
    time.sleep(random.uniform(0.0, 0.3))
    assert server.stop(signal.SIGKILL) == -signal.SIGKILL
    for writer in writers:
        writer.join()
    return cookies


def test_twenty_kills_amid_writes_lose_no_acknowledged_note(house):
    acknowledged: list[str] = []
    cookies: dict[str, str] = {}
    for number in range(KILLS):
        cookies = one_round(house, number, cookies, acknowledged)
    with closing(sqlite3.connect(house / "scopula.sqlite3")) as database:
        stored = [text for (text,) in database.execute("SELECT text FROM collection_note")]
        assert database.execute("PRAGMA integrity_check").fetchone() == ("ok",)
        assert database.execute("PRAGMA foreign_key_check").fetchall() == []
    assert len(acknowledged) >= KILLS * WRITERS
    assert set(acknowledged) - set(stored) == set()
    assert len(stored) == len(set(stored))
    assert len(stored) - len(acknowledged) <= KILLS * WRITERS  # in hand when the server died, never twice


def test_after_a_kill_the_next_start_looks_the_database_over(house):
    Server(house).stop(signal.SIGKILL)
    server = Server(house)
    server.stop()
    assert "cut off last time" in server.said
    again = Server(house)
    again.stop()
    assert "cut off" not in again.said
