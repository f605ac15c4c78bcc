"""One source that fails does not take a page down: it is logged, and what stands in its place says so."""

from __future__ import annotations

import logging
from collections.abc import Callable
from typing import TypeVar

from django.conf import settings

from collection.attention import Said, Urgency

T = TypeVar("T")
UNSAID = Said(Urgency.LOOK, "not worked out", "This could not be worked out. The terminal of the program says why.")
logger = logging.getLogger(__name__)


def run(what: str, work: Callable[[], T], otherwise: T) -> T:
    """The result of `work`, or `otherwise` when it raises; while developing it raises."""
    try:
        return work()
    except Exception:
        if not settings.CATCH_FAILING_SOURCES:
            raise
        logger.exception("%s failed", what)
        return otherwise
