"""Panels, log forms and history of the bottom app on an animal's page."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db.models import Prefetch, Q

from collection import descents, figures, panels, traces
from collection.forecasting import say_widened
from collection.growing import growth_figure, measured_in, molt_rows, premolt_of
from collection.models import GroupCount, Measurement, Molt, Note, Photo, Specimen, SpecimenKind
from collection.models.likelihoods import likelihoods_in_force
from collection.molting import expected
from collection.panels import Happening, LogForm, Panel, PanelKind
from collection.premolt import signs_for
from collection.sexing import say_weight, weigh
from collection.skins import BODY, CARAPACE, LEG_SPAN, best_series, measures_for
from collection.stages import Group, Stage, stage_label
from collection.standing import coming_looks, missed_of, molt_outlook, observations, open_still

SHOWN = 12
MOLTLESS = {Group.ISOPOD}
ALL_SIZES = {LEG_SPAN: "leg span", CARAPACE: "carapace length", BODY: "body length", "abdomen_mm": "abdomen width"}


def single(specimen: Specimen) -> bool:
    """Whether it is one animal, of which molts and sex can be told."""
    return specimen.kind == SpecimenKind.SINGLE.value


def molts(specimen: Specimen, today: date) -> Panel | None:
    """Growth at the molts, the window of the next, and whether it is near."""
    if not single(specimen):
        return _group_molts(specimen)
    group = Group(specimen.taxon.group)
    pictures = traces.some([specimen.pk], Photo.objects.all())
    rows = list(specimen.molts.prefetch_related(Prefetch("photos", pictures)))
    outlook = molt_outlook(specimen, molts=rows)
    series = best_series([molt.as_skin(group) for molt in rows], group)
    columns = measured_in(rows, group, series.measure)
    context: dict[str, Any] = {
        "rows": molt_rows(rows, group, list(columns))[:SHOWN],
        "all": len(rows),
        "outlook": outlook,
        "widened": say_widened(outlook.widened) if outlook else "",
        "premolt": premolt_of(specimen, outlook, today),
        "missed": missed_of(specimen, rows),
        "figure": growth_figure(rows, series.measure, group, today, outlook),
        "measure": measures_for(group)[series.measure],
        "measures": columns,
        "window": expected(outlook, today) if outlook else None,
    }
    return Panel("collection/_panel_molts.html", context, f"{len(rows)} recorded" if rows else "none yet")


def _group_molts(specimen: Specimen) -> Panel | None:
    """Of a group: how many molted to which instar, and when."""
    group = Group(specimen.taxon.group)
    if counted_only(specimen):
        return None
    rows = list(specimen.molts.all()[:SHOWN])
    context = {"rows": [(molt, molt.instar_said(group)) for molt in rows], "counted": is_counted(specimen)}
    return Panel("collection/_panel_group_molts.html", context)


def is_counted(specimen: Specimen) -> bool:
    """Whether its heads were ever counted: a group of which nobody said how many is not a group of one."""
    return bool(list(traces.some([specimen.pk], specimen.counts.all())[:1]))


def evidence(specimen: Specimen, today: date) -> Panel | None:
    """Sex evidence, how it is weighed, the verdict, and what a next look could bring."""
    if not single(specimen):
        return None
    looked = specimen.sex_evidence.select_related("molt").order_by("earliest", "id")
    every = list(traces.some([specimen.pk], looked))
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
        "looks": coming_looks(specimen, seen, table)[:1] if open_still(verdict) else (),
    }
    return Panel("collection/_panel_evidence.html", context, "weighed, never overwritten")


def notes(specimen: Specimen, today: date) -> Panel | None:
    """Notes, measurements and head counts."""
    ids = [specimen.pk]
    if traces.lacks(ids, Note, Measurement, GroupCount):
        return None
    context = {
        "notes": traces.some(ids, specimen.notes.all())[:SHOWN],
        "measured": _measured(specimen, list(traces.some(ids, specimen.measurements.all())[:SHOWN])),
        "counts": traces.some(ids, specimen.counts.all())[:SHOWN],
    }
    if not any(context.values()):
        return None
    return Panel("collection/_panel_notes.html", context)


@dataclass(frozen=True)
class Measured:
    """Measurements as rows with a cell for each measure that any of them has, in the words of the group."""

    words: list[str]
    rows: list[tuple[Measurement, list[tuple[str, float | None]], str]]


def _measured(specimen: Specimen, rows: list[Measurement]) -> Measured | None:
    group = Group(specimen.taxon.group)
    words = {name: word for name, word in _sizes(group).items() if any(getattr(row, name) for row in rows)}
    cells = [[(word, getattr(row, name)) for name, word in words.items()] for row in rows]
    stages = [stage_label(group, Stage(row.stage_seen)) if row.stage_seen else "" for row in rows]
    return Measured(list(words.values()), list(zip(rows, cells, stages, strict=True))) if rows else None


def _sizes(group: Group) -> dict[str, str]:
    """Every measure that can be on record, the group's own words first."""
    own = measures_for(group)
    return own | {name: word for name, word in ALL_SIZES.items() if name not in own}


def origin(specimen: Specimen, today: date) -> Panel | None:
    """Where it comes from and who its parents are."""
    young = Specimen.objects.filter(Q(dam=specimen) | Q(sire=specimen)).order_by("code")
    context: dict[str, Any] = {
        "listings": specimen.taxon.listings.all(),
        "young": traces.some([specimen.pk], young)[:SHOWN],
    }
    if specimen.hybrid or (specimen.dam_id and not specimen.sire_id):
        context["descent"] = descents.note(specimen)
    return Panel("collection/_panel_origin.html", context)


def happenings(specimen: Specimen) -> Iterator[Happening]:
    """What the bottom app knows, as lines of the full history."""
    for molt in specimen.molts.all():
        yield Happening(molt.earliest, str(molt.when), "molt", _told(molt, specimen))
    for seen in specimen.molt_signs.all():
        yield Happening(seen.earliest, str(seen.when), "sign of a molt", seen.get_sign_display())
    for row in specimen.sex_evidence.all():
        gone = f" (withdrawn: {row.withdrawn})" if row.withdrawn else ""
        yield Happening(row.earliest, str(row.when), "sex evidence", f"{row.get_method_display()}: {row.finding}{gone}")
    for measured in specimen.measurements.all():
        sizes = [(word, getattr(measured, name)) for name, word in _sizes(Group(specimen.taxon.group)).items()]
        said = ", ".join(f"{name} {value:g} mm" for name, value in sizes if value)
        mass = f"{measured.mass_g:g} g" if measured.mass_g else ""
        detail = ", ".join(filter(None, [said, mass, measured.stage_seen or ""]))
        yield Happening(measured.earliest, str(measured.when), "measured", detail)
    for note in specimen.notes.all():
        word = "something is wrong" if note.wrong else "note"
        yield Happening(note.earliest, str(note.when), word, ". ".join(filter(None, [note.text, note.set_aside])))
    for count in specimen.counts.all():
        yield Happening(count.earliest, str(count.when), "head count", f"{count.count}, {count.method}")
    yield from _ends(specimen)


def _told(molt: Molt, specimen: Specimen) -> str:
    """How many, to which instar, and how it went."""
    many = f"{molt.animals} of the group" if molt.animals else ""
    went = molt.get_went_display() if molt.went else ""
    return ", ".join(filter(None, [many, molt.instar_said(Group(specimen.taxon.group)), went, molt.condition]))


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
        detail = ". ".join(filter(None, [death.get_cause_display(), death.post_mortem]))
        yield Happening(death.earliest, str(death.when), "died", detail)


def alive(specimen: Specimen) -> bool:
    """Here: things can still happen to it."""
    return specimen.standing.status in {"here", "loan_in"}


def away(specimen: Specimen) -> bool:
    """Lent out or missing: it can come back."""
    return specimen.standing.status in {"loan_out", "missing"}


def counted_only(specimen: Specimen) -> bool:
    """A culture, or of a group whose molts nobody logs."""
    return specimen.kind == SpecimenKind.CULTURE.value or Group(specimen.taxon.group) in MOLTLESS


def molting(specimen: Specimen) -> bool:
    """Alive, and of a group whose molts are logged; a culture is only counted."""
    return not counted_only(specimen) and alive(specimen)


def premolting(specimen: Specimen) -> bool:
    """One living animal of a group whose molt shows ahead."""
    return single(specimen) and molting(specimen) and bool(signs_for(Group(specimen.taxon.group)))


panels.timelines["collection"] = happenings
panels.register(PanelKind("molts", "Molts", 10, molts))
panels.register(PanelKind("evidence", "Evidence of sex", 30, evidence))
panels.register(PanelKind("notes", "Notes", 60, notes))
panels.register(PanelKind("origin", "Origin", 70, origin))
panels.register_form(LogForm("molt", "Molt", "collection:molt-new", 20, molting))
panels.register_form(LogForm("moltsign", "Sign of a molt", "collection:moltsign-new", 22, premolting))
panels.register_form(
    LogForm("evidence", "Sex evidence", "collection:evidence-new", 30, lambda s: single(s) and alive(s))
)
panels.register_form(LogForm("measure", "Measurement", "collection:measure-new", 40, alive))
panels.register_form(LogForm("count", "Head count", "collection:groupcount-new", 45, lambda s: not single(s)))
panels.register_form(LogForm("note", "Note", "collection:note-new", 50))
panels.register_form(LogForm("departure", "Departure", "collection:departure-new", 90, alive))
panels.register_form(LogForm("return", "Return", "collection:return-new", 5, away))
panels.register_form(LogForm("death", "Death", "collection:death-new", 95, alive))
