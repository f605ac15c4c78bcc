"""What the server does by itself once a day."""

from __future__ import annotations

import logging
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import date

from django.core.management import call_command
from django.db import connection, connections
from django.utils import timezone

from collection.photos import keeping
from config import backup, startup

logger = logging.getLogger(__name__)
PATIENCE = 5.0  # seconds
LOOK_EVERY = 60.0  # seconds; a laptop that slept past midnight catches up within a minute of waking


def _back_up() -> None:
    if connection.vendor != "sqlite":
        return  # PostgreSQL has tools of its own for that
    try:
        backup.make_daily()
    except backup.Interrupted as stopped:
        logger.info("%s Tomorrow, or at the next start, there is another.", stopped)
    except backup.NotPossible as problem:
        logger.error("%s", problem)


def _rebuild_dues() -> None:
    startup.run_if_there("rebuild_dues")


def _forget_old_sessions() -> None:
    call_command("clearsessions")


def _let_sqlite_look() -> None:
    """Let the query planner count anew what has grown tenfold, a few hundred rows of each index at most."""
    if connection.vendor == "sqlite":
        with connection.cursor() as cursor:
            cursor.execute("PRAGMA analysis_limit=400")
            cursor.execute("PRAGMA optimize")


def _throw_old_pictures_away() -> None:
    keeping.purge(timezone.now())


CHORES: list[Callable[[], None]] = [
    _throw_old_pictures_away,
    _back_up,
    _rebuild_dues,
    _forget_old_sessions,
    _let_sqlite_look,
]


def do_chores(stop: threading.Event | None = None) -> None:
    """Do each chore; one that fails is logged and holds up no other. After `stop` none is begun."""
    for chore in CHORES:
        if stop and stop.is_set():
            return
        try:
            chore()
        except Exception:
            logger.exception("The daily chore %s failed", chore.__name__)


def _watch(stop: threading.Event, first_look: float) -> None:
    done: date | None = None
    wait = first_look
    while not stop.wait(wait):
        wait = LOOK_EVERY
        if (today := timezone.localdate()) != done:
            do_chores(stop)
            connections.close_all()
            done = today


@contextmanager
def chores(first_look: float = 5.0) -> Iterator[None]:
    """Look after the daily chores in a thread of their own until the block ends.

    A backup in hand is thrown away then; another chore has a few seconds to finish, and its transaction is rolled back
    if it does not.
    """
    stop = threading.Event()
    thread = threading.Thread(target=_watch, args=(stop, first_look), name="daily chores", daemon=True)
    thread.start()
    try:
        yield
    finally:
        stop.set()
        backup.stopping.set()
        thread.join(PATIENCE)
        if not thread.is_alive():
            backup.stopping.clear()
