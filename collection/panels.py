"""The registry of panels on an animal's page. Each app registers its own; the page draws them in order."""

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date
from typing import Any


@dataclass(frozen=True)
class Panel:
    """One panel: its title, a note in the margin, its template and what the template needs."""

    title: str
    template: str
    context: dict[str, Any] = field(default_factory=dict)
    note: str = ""


@dataclass(frozen=True)
class PanelKind:
    """A registered panel: `count` is cheap and stands in the index, `build` does the work when it is opened."""

    name: str
    title: str
    order: int
    build: Callable[[Any, date], Panel | None]
    keeper_only: bool = False


@dataclass(frozen=True)
class LogForm:
    """Something that can be logged from an animal's page: a label and the address of its form."""

    name: str
    label: str
    url_name: str
    order: int
    fits: Callable[[Any], bool] = lambda specimen: True


panel_kinds: dict[str, PanelKind] = {}
log_forms: dict[str, LogForm] = {}


def register(kind: PanelKind) -> PanelKind:
    """Make a panel known."""
    panel_kinds[kind.name] = kind
    return kind


def register_form(form: LogForm) -> LogForm:
    """Make a log form known."""
    log_forms[form.name] = form
    return form


def kinds() -> list[PanelKind]:
    """All panels in page order."""
    return sorted(panel_kinds.values(), key=lambda kind: (kind.order, kind.name))


def forms_for(specimen: Any) -> list[LogForm]:
    """The log forms that make sense for this animal, in order."""
    fitting = (form for form in log_forms.values() if form.fits(specimen))
    return sorted(fitting, key=lambda form: (form.order, form.name))
