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

from config import backup, startup

logger = logging.getLogger(__name__)
LOOK_EVERY = 60.0  # seconds; a laptop that slept past midnight catches up within a minute of waking


def _back_up() -> None:
    if connection.vendor != "sqlite":
        return  # PostgreSQL has tools of its own for that
    try:
        backup.make_daily()
    except backup.NotPossible as problem:
        logger.error("%s", problem)


def _rebuild_dues() -> None:
    startup.run_if_there("rebuild_dues")


def _forget_old_sessions() -> None:
    call_command("clearsessions")


CHORES: list[Callable[[], None]] = [_back_up, _rebuild_dues, _forget_old_sessions]


def do_chores() -> None:
    """Do each chore; one that fails is logged and holds up no other."""
    for chore in CHORES:
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
            do_chores()
            connections.close_all()
            done = today


@contextmanager
def chores(first_look: float = 5.0) -> Iterator[None]:
    """Look after the daily chores in a thread of their own until the block ends; a chore in hand is finished."""
    stop = threading.Event()
    thread = threading.Thread(target=_watch, args=(stop, first_look), name="daily chores", daemon=True)
    thread.start()
    try:
        yield
    finally:
        stop.set()
        thread.join()
