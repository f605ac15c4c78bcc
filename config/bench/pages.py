"""The four things a keeper does most, timed through Django's whole stack and beside the bare SQL."""

from __future__ import annotations

import re
import time
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from random import Random
from statistics import median, quantiles

from django.contrib.auth.models import User
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from collection import receipts
from collection.models import Due, Specimen
from config.bench import bare
from config.bench.bare import Bare

WARM_UP = 8  # more than the server has threads: each opens its own connection first
LINK = re.compile(r'href="/animals/(\d+)/"')


@dataclass(frozen=True)
class Timing:
    """Milliseconds of one page, of work in it, its queries, and the bare SQL's milliseconds."""

    page: str
    p50: float
    p95: float
    work: float  # what this process alone worked: steady also on a machine that is busy with other things
    queries: int
    bare: float

    @property
    def ratio(self) -> float:
        """How many times the bare SQL."""
        return self.p50 / self.bare


def spread(act: Callable[[], object], runs: int) -> tuple[float, float, float]:
    """The median and the 95th percentile of some runs, and the median of the work of this process, in ms."""
    for _ in range(WARM_UP):
        act()
    times, work = [], []
    for _ in range(runs):
        start, start_work = time.perf_counter(), time.process_time()
        act()
        times.append((time.perf_counter() - start) * 1000)
        work.append((time.process_time() - start_work) * 1000)
    return median(times), quantiles(times, n=20, method="inclusive")[-1], median(work)


class Pages:
    """A signed-in keeper's browser without a network, and a bare connection to the same database."""

    def __init__(self, path: Path, today: date) -> None:
        self.client = Client(headers={"host": "127.0.0.1"})
        self.client.force_login(User.objects.get(username="keeper"))
        self.bare = Bare(path, today)
        self.today = today
        self.ids = list(Specimen.objects.here().values_list("pk", flat=True))
        self.rng = Random(1)

    def get(self, url: str) -> None:
        """A page; anything but a page is a failure of the measurement."""
        response = self.client.get(url)
        if response.status_code != 200:
            raise RuntimeError(f"{url} answered {response.status_code}")

    def feed(self) -> None:
        """One tap on Taken."""
        data = {"once": receipts.new_key(), "outcome": "taken", "back": "/"}
        response = self.client.post(f"/animals/{self.rng.choice(self.ids)}/fed/", data)
        if response.status_code != 302:
            raise RuntimeError(f"a feed answered {response.status_code}")

    def any_animal(self) -> int:
        """Some animal."""
        return self.rng.choice(self.ids)

    def any_page(self) -> int:
        """Some page of the register, from 0."""
        return self.rng.randrange(max(len(self.ids) // 50, 1))

    def timings(self, runs: int) -> list[Timing]:
        """All four."""
        facts = self.bare.facts
        return [
            self._time("dashboard", lambda: self.get("/"), lambda: facts(bare.DASHBOARD), runs),
            self._time(
                "register page",
                lambda: self.get(f"/animals/?page={self.any_page() + 1}"),
                lambda: facts(bare.REGISTER, offset=self.any_page() * 50),
                runs,
            ),
            self._time(
                "animal page",
                lambda: self.get(f"/animals/{self.any_animal()}/"),
                lambda: facts(bare.ANIMAL_PAGE, id=self.any_animal()),
                runs,
            ),
            self._time("one feed logged", self.feed, lambda: self.bare.feed(self.any_animal()), runs),
        ]

    def _time(self, page: str, act: Callable[[], object], floor: Callable[[], object], runs: int) -> Timing:
        p50, p95, work = spread(act, runs)
        with CaptureQueriesContext(connection) as captured:
            act()
        bare_p50, *_ = spread(floor, runs)
        return Timing(page, p50, p95, work, len(captured), bare_p50)

    def same_facts(self) -> bool:
        """Whether the bare SQL finds the same animals as the lists of the pages, in the same order."""
        dashboard = [row[0] for row in self.bare.facts([bare.ON_PAGE])[0]]
        register = [row[0] for row in self.bare.facts([bare.REGISTER_PAGE], offset=0)[0]]
        return self._listed("/") == dashboard and self._listed("/animals/") == register

    def _listed(self, url: str) -> list[int]:
        """The animals that a page's list links to, each once, in order."""
        fragment = self.client.get(url, headers={"HX-Request": "true"}).content.decode()
        return list(dict.fromkeys(int(pk) for pk in LINK.findall(fragment)))

    def share_due(self) -> float:
        """The part of the animals here whose feed is due or overdue."""
        return Due.objects.of("feed").due(self.today).count() / max(len(self.ids), 1)
