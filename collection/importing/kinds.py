"""The registry of what can be imported. Each app registers the kinds and the fields of its own records.

An importer reads the rows of one kind of file. The first registered for a kind is its owner and decides what the row is
about; others add what their app knows of the same row, such as the enclosure of an animal.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any, ClassVar, TypeVar

from collection.importing.drafts import Draft, Job


@dataclass(frozen=True)
class Field:
    """One thing a column can hold: `reads` names how its cells are read (see `readers.READERS`)."""

    name: str
    label: str
    reads: str = "text"
    required: bool = False
    longest: int = 0  # characters of a text that the record can keep; 0: no limit
    hint: str = ""
    choices: Callable[[], Sequence[tuple[str, str]]] | None = None  # asked for the whole file that has no such column
    clock_of: str = ""  # the field whose time of day a column holds; it is read with that field


class Importer:
    """Turns rows of one kind into drafts. `values` holds what was read from the mapped columns that say something.

    A commit writes rows while later ones are still being read. So `row` asks the database nothing, and tells records
    on file from those that earlier rows bring by what `prepare` has read, never by whether they have a number yet.
    """

    fields: ClassVar[tuple[Field, ...]] = ()

    def __init__(self, job: Job) -> None:
        self.job = job
        self.rows: set[str] = set()  # the codes of the rows themselves, as they are compared
        self.circle: set[str] = set()  # those of them that descend from themselves by this file

    def prepare(self, codes: set[str]) -> None:
        """Read what is on file about the animals that the file names, with few queries."""

    def row(self, draft: Draft, values: dict[str, Any]) -> None:
        """Add to the draft what this importer makes of the row."""
        raise NotImplementedError

    @classmethod
    def afterwards(cls) -> None:
        """Put in order what follows from the records as a whole, after a commit and after an undo."""


@dataclass
class Kind:
    """One kind of file: its title, what it is about, which fields hold codes of animals, and its importers."""

    name: str
    title: str
    order: int
    code_fields: tuple[str, ...]
    importers: list[type[Importer]]
    parents: tuple[str, ...] = ()  # of the fields with codes, those that name rows which must be taken before

    @property
    def fields(self) -> tuple[Field, ...]:
        """All fields of all importers, the owner's first."""
        return tuple(field for importer in self.importers for field in importer.fields)


known: dict[str, Kind] = {}
_waiting: dict[str, list[type[Importer]]] = {}
I = TypeVar("I", bound=type[Importer])  # noqa: E741 - a type variable


def owner(
    name: str, title: str, order: int, code_fields: tuple[str, ...] = ("code",), parents: tuple[str, ...] = ()
) -> Callable[[I], I]:
    """Register the importer that owns a kind of file."""

    def keep(importer: I) -> I:
        known[name] = Kind(name, title, order, code_fields, [importer, *_waiting.get(name, [])], parents)
        return importer

    return keep


def adds_to(name: str) -> Callable[[I], I]:
    """Register an importer that adds fields to a kind that a lower app owns."""

    def keep(importer: I) -> I:
        _waiting.setdefault(name, []).append(importer)
        if name in known:
            known[name].importers.append(importer)
        return importer

    return keep


def in_order() -> list[Kind]:
    """All kinds, as they are offered."""
    return sorted(known.values(), key=lambda kind: kind.order)
