"""Four browsers send one form at the same moment, as they do when a connection drops: it counts once."""

import sqlite3
import threading
from contextlib import closing

from tests.config.houses import Browser, Server
from tests.config.test_kill9 import signed_in

SENDERS = 4


def test_a_form_sent_four_times_at_once_is_one_entry_with_one_answer(house):
    server = Server(house)
    cookies, answers, ready = signed_in(server), [], threading.Barrier(SENDERS)

    def send() -> None:
        with Browser(server.port, cookies) as browser:
            ready.wait()
            answers.append(browser.send("/animals/1/note/", on="2025-06-01", text="calm", once="one-key"))

    senders = [threading.Thread(target=send) for _ in range(SENDERS)]
    for sender in senders:
        sender.start()
    for sender in senders:
        sender.join()
    server.stop()
    assert answers == [302] * SENDERS
    with closing(sqlite3.connect(house / "scopula.sqlite3")) as database:
        counts = [database.execute(f"SELECT count(*) FROM collection_{t}").fetchone()[0] for t in ("note", "receipt")]
    assert counts == [1, 1]
