"""Panels, log forms and history of the bottom app on an animal's page."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta
from itertools import pairwise
from typing import Any

from collection import figures, panels
from collection.models import Molt, Specimen, SpecimenKind
from collection.models.likelihoods import likelihoods_in_force
from collection.panels import Happening, LogForm, Panel, PanelKind
from collection.sexing import Verdict, say_weight, weigh
from collection.stages import Group
from collection.standing import coming_looks, molt_outlook, observations

SHOWN = 12
MOLTLESS = {Group.ISOPOD}
SURE = {Verdict.FEMALE, Verdict.MALE}


def single(specimen: Specimen) -> bool:
    """Whether it is one animal, of which molts and sex can be told."""
    return specimen.kind == SpecimenKind.SINGLE.value


def molts(specimen: Specimen, today: date) -> Panel | None:
    """Growth at the molts and the window of the next."""
    if not single(specimen):
        return None
    rows = list(specimen.molts.all())
    outlook = molt_outlook(specimen)
    window = None
    if outlook:
        low, high = outlook.forecast.window(0.5)
        inner = (outlook.last + timedelta(days=round(day)) for day in (low, high))
        window = (outlook.begins, *inner, outlook.ends)
    field, figure = _growth(rows, today, window)
    context: dict[str, Any] = {
        "rows": _with_days(rows)[:SHOWN],
        "all": len(rows),
        "outlook": outlook,
        "window": window,
        "figure": figure,
        "measure": "leg span" if field == "leg_span_mm" else "carapace length",
    }
    counted = "a lower bound" if rows else ""
    return Panel("collection/_panel_molts.html", context, f"{len(rows)} recorded, {counted}" if rows else "none yet")


def _growth(rows: list[Molt], today: date, window: Any) -> tuple[str, figures.Growth | None]:
    """The stair of whichever measure has more points; the two are never mixed."""
    best = max(("carapace_mm", "leg_span_mm"), key=lambda name: sum(getattr(row, name) is not None for row in rows))
    sized = [(row.when.middle, getattr(row, best), row.exuvia_kept) for row in rows if getattr(row, best) is not None]
    return best, figures.growth(sorted(sized, key=lambda item: item[0]), today, window)


def _with_days(rows: list[Molt]) -> list[tuple[Molt, int | None]]:
    """Each molt with the days since the one before, newest first."""
    days = [(newer.when.middle - older.when.middle).days for newer, older in pairwise(rows)]
    return list(zip(rows, [*days, None], strict=True)) if rows else []


def evidence(specimen: Specimen, today: date) -> Panel | None:
    """Sex evidence, how it is weighed, the verdict, and what a next look could bring."""
    if not single(specimen):
        return None
    every = list(specimen.sex_evidence.select_related("molt").order_by("earliest", "id"))
    rows = [row for row in every if not row.withdrawn]
    table = likelihoods_in_force()
    seen = observations(rows, specimen)
    verdict = weigh(seen, likelihoods=table)
    moved = [
        (rows[reason.observation], reason, say_weight(reason.weight), figures.balance(reason.weight))
        for reason in verdict.reasons
    ]
    context = {
        "verdict": verdict,
        "moved": moved[::-1][:SHOWN],
        "all": len(rows),
        "withdrawn": len(every) - len(rows),
        "looks": () if verdict.verdict in SURE and not verdict.conflict else coming_looks(specimen, seen, table)[:1],
    }
    return Panel("collection/_panel_evidence.html", context, "weighed, never overwritten")


def notes(specimen: Specimen, today: date) -> Panel | None:
    """Notes, measurements and head counts."""
    context = {
        "notes": specimen.notes.all()[:SHOWN],
        "measurements": specimen.measurements.all()[:SHOWN],
        "counts": specimen.counts.all()[:SHOWN],
    }
    if not any(context.values()):
        return None
    return Panel("collection/_panel_notes.html", context)


def origin(specimen: Specimen, today: date) -> Panel | None:
    """Where it comes from and who its parents are."""
    young = Specimen.objects.filter(dam=specimen) | Specimen.objects.filter(sire=specimen)
    context = {"listings": specimen.taxon.listings.all(), "young": young.order_by("code")[:SHOWN]}
    return Panel("collection/_panel_origin.html", context)


def happenings(specimen: Specimen) -> Iterator[Happening]:
    """What the bottom app knows, as lines of the full history."""
    for molt in specimen.molts.all():
        instar = f"instar {molt.numbering}{molt.instar}" if molt.instar else ""
        yield Happening(molt.earliest, str(molt.when), "molt", instar)
    for row in specimen.sex_evidence.all():
        gone = f" (withdrawn: {row.withdrawn})" if row.withdrawn else ""
        yield Happening(row.earliest, str(row.when), "sex evidence", f"{row.get_method_display()}: {row.finding}{gone}")
    for measured in specimen.measurements.all():
        sizes = [("leg span", measured.leg_span_mm), ("carapace", measured.carapace_mm), ("body", measured.body_mm)]
        said = ", ".join(f"{name} {value:g} mm" for name, value in sizes if value)
        mass = f"{measured.mass_g:g} g" if measured.mass_g else ""
        detail = ", ".join(filter(None, [said, mass, measured.stage_seen or ""]))
        yield Happening(measured.earliest, str(measured.when), "measured", detail)
    for note in specimen.notes.all():
        yield Happening(note.earliest, str(note.when), "note", note.text)
    for count in specimen.counts.all():
        yield Happening(count.earliest, str(count.when), "head count", f"{count.count}, {count.method}")
    yield from _ends(specimen)


def _ends(specimen: Specimen) -> Iterator[Happening]:
    """Beginning, departures and death."""
    if specimen.hatched:
        yield Happening(specimen.hatched.earliest, str(specimen.hatched), "hatched or born", specimen.clutch)
    if specimen.acquired:
        yield Happening(specimen.acquired.earliest, str(specimen.acquired), "came", specimen.get_how_display())
    for gone in specimen.departures.all():
        back = f", back {gone.back_on}" if gone.back_on else ""
        yield Happening(gone.on, str(gone.on), gone.get_kind_display(), f"{gone.note}{back}")
    death = getattr(specimen, "death", None)
    if death is not None:
        yield Happening(death.earliest, str(death.when), "died", death.get_cause_display())


def alive(specimen: Specimen) -> bool:
    """Here: things can still happen to it."""
    return specimen.standing.status in {"here", "loan_in"}


def away(specimen: Specimen) -> bool:
    """Lent out or missing: it can come back."""
    return specimen.standing.status in {"loan_out", "missing"}


def molting(specimen: Specimen) -> bool:
    """One living animal of a group whose molts are logged."""
    return single(specimen) and alive(specimen) and Group(specimen.taxon.group) not in MOLTLESS


panels.timelines["collection"] = happenings
panels.register(PanelKind("molts", "Molts", 10, molts))
panels.register(PanelKind("evidence", "Evidence of sex", 30, evidence))
panels.register(PanelKind("notes", "Notes", 60, notes))
panels.register(PanelKind("origin", "Origin", 70, origin))
panels.register_form(LogForm("molt", "Molt", "collection:molt-new", 20, molting))
panels.register_form(
    LogForm("evidence", "Sex evidence", "collection:evidence-new", 30, lambda s: single(s) and alive(s))
)
panels.register_form(LogForm("measure", "Measurement", "collection:measure-new", 40, alive))
panels.register_form(LogForm("count", "Head count", "collection:groupcount-new", 45, lambda s: not single(s)))
panels.register_form(LogForm("note", "Note", "collection:note-new", 50))
panels.register_form(LogForm("departure", "Departure", "collection:departure-new", 90, alive))
panels.register_form(LogForm("return", "Return", "collection:return-new", 5, away))
panels.register_form(LogForm("death", "Death", "collection:death-new", 95, alive))
