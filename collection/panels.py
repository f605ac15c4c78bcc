"""The registry of panels on an animal's page. Each app registers its own; the page draws them in order."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any


@dataclass(frozen=True)
class Panel:
    """One panel: its template, what the template needs, a note for the margin, and words for the head of the page."""

    template: str
    context: dict[str, Any] = field(default_factory=dict)
    note: str = ""
    head: str = ""  # what of it must stand in the head of the page already


@dataclass(frozen=True)
class PanelKind:
    """A registered panel: `build` gets the specimen and today, and answers None where it makes no sense."""

    name: str
    title: str
    order: int
    build: Callable[[Any, date], Panel | None]


@dataclass(frozen=True)
class LogForm:
    """Something that can be logged from an animal's page: a label and the address of its form."""

    name: str
    label: str
    url_name: str
    order: int
    fits: Callable[[Any], bool] = lambda specimen: True


@dataclass(frozen=True)
class Column:
    """Something an upper app can tell of many animals at once, for the register and for the head of a page."""

    name: str
    title: str
    order: int
    values: Callable[[Sequence[int]], Mapping[int, str]]
    in_head: bool = False


@dataclass(frozen=True)
class Filter:
    """A filter of the register that an upper app knows: its choices, and how it narrows a queryset."""

    name: str
    label: str
    choices: Callable[[], list[tuple[str, str]]]
    apply: Callable[[Any, str], Any]


@dataclass(frozen=True)
class Onward:
    """A page of an upper app that goes on from one animal, or from all that the register shows."""

    name: str
    label: str
    from_one: Callable[[Any], str]
    from_list: Callable[[str], str]  # gets the register's filters as they stand in the address


@dataclass(frozen=True)
class Happening:
    """One line of an animal's full history."""

    on: date
    when: str
    what: str
    detail: str = ""


panel_kinds: dict[str, PanelKind] = {}
log_forms: dict[str, LogForm] = {}
columns: dict[str, Column] = {}
filters: dict[str, Filter] = {}
onwards: dict[str, Onward] = {}
from_issue: dict[str, tuple[str, Callable[[Any], str]]] = {}  # pages of upper apps that go on from a contagious issue
doings: dict[str, Callable[[Any, date], Iterable[str]]] = {}
molt_ends: dict[str, Callable[[Any], str]] = {}  # what a molt of an animal would end, in a sentence
causes: dict[str, Callable[[Any, date], str]] = {}  # the likeliest cause of a death on that day; nothing where none
timelines: dict[str, Callable[[Any], Iterable[Happening]]] = {}


def register(kind: PanelKind) -> PanelKind:
    """Make a panel known."""
    panel_kinds[kind.name] = kind
    return kind


def register_form(form: LogForm) -> LogForm:
    """Make a log form known."""
    log_forms[form.name] = form
    return form


def register_column(column: Column) -> Column:
    """Make a column known."""
    columns[column.name] = column
    return column


def register_filter(narrowing: Filter) -> Filter:
    """Make a filter known."""
    filters[narrowing.name] = narrowing
    return narrowing


def register_onward(onward: Onward) -> Onward:
    """Make a page that goes on from animals known."""
    onwards[onward.name] = onward
    return onward


def in_order(known: Mapping[str, Column]) -> list[Column]:
    """Columns in the order of the register."""
    return sorted(known.values(), key=lambda column: (column.order, column.name))


def history(specimen: Any) -> list[Happening]:
    """Everything that every app knows of an animal, newest first."""
    lines = [line for name in sorted(timelines) for line in timelines[name](specimen)]
    return sorted(lines, key=lambda line: line.on, reverse=True)


def doing(specimen: Any, day: date) -> str:
    """What every app knows of what an animal was doing on a day, in one sentence; asked for when it died."""
    parts = [part for name in sorted(doings) for part in doings[name](specimen, day)]
    said = "; ".join(parts)
    return f"{said[:1].upper()}{said[1:]}." if said else ""


def ended_by_molt(specimen: Any) -> str:
    """What a molt logged now would end; nothing where it ends nothing."""
    return " ".join(filter(None, (molt_ends[name](specimen) for name in sorted(molt_ends))))


def likely_cause(specimen: Any, day: date) -> str:
    """The cause of death that the records point to, chosen beforehand in the form; nothing where they are silent."""
    return next((cause for name in sorted(causes) if (cause := causes[name](specimen, day))), "")


def kinds() -> list[PanelKind]:
    """All panels in page order."""
    return sorted(panel_kinds.values(), key=lambda kind: (kind.order, kind.name))


def forms_for(specimen: Any) -> list[LogForm]:
    """The log forms that make sense for this animal, in order."""
    fitting = (form for form in log_forms.values() if form.fits(specimen))
    return sorted(fitting, key=lambda form: (form.order, form.name))
