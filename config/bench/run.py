"""One size from an empty folder to its figures, and the table of all."""

from __future__ import annotations

import os
import time
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.db import connection
from django.utils import timezone

from config import startup, static_files
from config.accounts import services
from config.bench import fill, served
from config.bench.pages import Pages, Timing
from config.bench.served import Served

SIGN_IN = ("keeper", "bench-only-clove-29")
# What the program promises, in ms, for the sizes it promises it for.
PROMISED_DASHBOARD = {5_000: 60.0, 20_000: 120.0}
PROMISED_FEED_P95 = 25.0
PROMISED_WEIGHT = 60 * 1024
PROMISED_MEMORY = 120.0
PROMISED_START = 3.0


@dataclass(frozen=True)
class Result:
    """All figures of one size."""

    size: int
    feedings: int
    fill_seconds: float
    dues_seconds: float
    share_due: float
    megabytes: float
    same_facts: bool
    load: float | None
    timings: list[Timing]
    served: Served


def one(size: int, feedings: int, runs: int) -> Result:
    """Fill the database of this process and measure it."""
    startup.make_folder()
    call_command("migrate", verbosity=0, interactive=False)
    static_files.build_if_changed()
    begun = time.perf_counter()
    today = timezone.localdate()
    fill.fill(size, feedings, today)
    filled = time.perf_counter()
    fill.work_out()
    worked_out = time.perf_counter()
    services.create_first_keeper(*SIGN_IN)
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    path = Path(str(connection.settings_dict["NAME"]))
    pages = Pages(path, today)
    same = pages.same_facts()
    load = os.getloadavg()[0] if hasattr(os, "getloadavg") else None
    share = pages.share_due()
    timings = pages.timings(runs)
    return Result(
        size=size,
        feedings=feedings,
        fill_seconds=filled - begun,
        dues_seconds=worked_out - filled,
        share_due=share,
        megabytes=path.stat().st_size / 1e6,
        same_facts=same,
        load=load,
        timings=timings,
        served=served.measure(Path(settings.DATA_DIR), SIGN_IN, pages.any_animal(), runs),
    )


def from_plain(data: dict[str, Any]) -> Result:
    """A result that came out of another process."""
    timings = [Timing(**timing) for timing in data.pop("timings")]
    told = Served(**data.pop("served"))
    return Result(**data, timings=timings, served=told)


def table(results: list[Result]) -> str:
    """Every figure, with what was promised beside it."""
    lines = ["animals  what                        p50 ms   p95 ms  work ms  queries  bare SQL ms  ratio  promised"]
    for result in results:
        for timing in result.timings:
            lines.append(_line(result.size, timing.page, timing.p50, timing.p95, _beside(result, timing)))
        told = result.served
        lines.append(_line(result.size, "dashboard over http", *told.dashboard, ""))
        lines.append(_line(result.size, "one feed over http", *told.feed, ""))
    lines += ["", "animals  feedings  filled s  all dues s  due now  database MB  same facts  load before"]
    lines += [_made(result) for result in results]
    lines.append(
        "(load: processes that wanted a core before the timing; near the number of cores it was disturbed. "
        "Work: time on a core of this process alone.)"
    )
    lines += ["", "animals  start-up s (≤ 3)  memory MiB (≤ 120)  first page KiB: html + styles and scripts (≤ 60)"]
    lines += [_rest(result) for result in results]
    return "\n".join(lines)


def _line(size: int, what: str, p50: float, p95: float, beside: str) -> str:
    return f"{size:>7}  {what:<26} {p50:>8.1f} {p95:>8.1f}{beside}"


def _beside(result: Result, timing: Timing) -> str:
    promised = ""
    if timing.page == "dashboard" and result.size in PROMISED_DASHBOARD:
        promised = _kept("p50", timing.p50, PROMISED_DASHBOARD[result.size])
    if timing.page == "one feed logged":
        promised = _kept("p95", timing.p95, PROMISED_FEED_P95)
    return f"  {timing.work:>7.1f}  {timing.queries:>7}  {timing.bare:>11.2f}  {timing.ratio:>5.1f}  {promised}"


def _kept(what: str, measured: float, promised: float) -> str:
    return f"{what} ≤ {promised:g}: {'kept' if measured <= promised else 'MISSED'}"


def _made(result: Result) -> str:
    return (
        f"{result.size:>7}  {result.size * result.feedings:>8}  {result.fill_seconds:>8.1f}  "
        f"{result.dues_seconds:>10.1f}  {result.share_due:>7.1%}  {result.megabytes:>11.1f}  "
        f"{'yes' if result.same_facts else 'NO':<10}  {'not told' if result.load is None else f'{result.load:.1f}'}"
    )


def _rest(result: Result) -> str:
    told = result.served
    weight = told.html_bytes + told.assets_bytes
    memory = f"{told.memory_mib:.0f}" if told.memory_mib is not None else "not told"
    marks = [
        "kept" if ok else "MISSED"
        for ok in (
            told.start_seconds <= PROMISED_START,
            told.memory_mib is not None and told.memory_mib <= PROMISED_MEMORY,
            weight <= PROMISED_WEIGHT,
        )
    ]
    return (
        f"{result.size:>7}  {told.start_seconds:.2f} {marks[0]:<12} {memory} {marks[1]:<12} "
        f"{told.html_bytes / 1024:.1f} + {told.assets_bytes / 1024:.1f} = {weight / 1024:.1f} {marks[2]}"
    )
