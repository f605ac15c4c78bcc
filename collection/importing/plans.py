"""The dry run: every row of a file as a draft, one after the other, without writing anything."""

from __future__ import annotations

import hashlib
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from collection.importing import kinds
from collection.importing.drafts import Draft, Job, Outcome, fingerprint
from collection.importing.kinds import Importer
from collection.importing.ordering import parents_first
from collection.importing.readers import Question, decide
from collection.spreadsheets.cells import Cell, Misread, is_blank, text_of
from collection.spreadsheets.tables import Table

Shown = list[Any]  # row number, label, outcome, lines: as it is kept for the preview


class NotReady(ValueError):
    """The file cannot be planned yet: a column is missing, or a question is open. Says which."""

    def __init__(self, sentence: str, questions: Sequence[Question] = ()) -> None:
        super().__init__(sentence)
        self.questions = questions


class Plan:
    """The drafts of a file in the order of its rows. Made anew at each run: nothing of it is kept in memory."""

    def __init__(self, table: Table, columns: Mapping[str, int], answers: Mapping[str, str], job: Job) -> None:
        """Raises NotReady while a required column or an answer is missing."""
        self.table, self.columns, self.job = table, columns, job
        self.kind = kinds.known[job.kind]
        missing = [
            one.label for one in self.kind.fields if one.required and one.choices is None and one.name not in columns
        ]
        if missing:
            raise NotReady(f"Say which column holds: {', '.join(missing)}.")
        self.decisions = decide(self.kind.fields, table, columns, answers, job.today)
        self.table = self.decisions.table or table
        if self.decisions.questions:
            asked = self.decisions.questions
            raise NotReady(" ".join(question.sentence for question in asked), asked)

    @property
    def notes(self) -> list[str]:
        """What the keeper should know of the file as a whole."""
        return [*self.table.notes, *self.decisions.notes]

    def drafts(self) -> Iterator[Draft]:
        """Each row in turn, parents before their young. What is on file is read before the first row, and not again."""
        importers = [importer(self.job) for importer in self.kind.importers]
        codes = _codes(self.kind.code_fields, self.table, self.columns)
        codes.update(value.casefold() for value in self.decisions.constants.values())
        order, circle = self._order()
        for importer in importers:
            importer.rows, importer.circle = _codes(self.kind.code_fields[:1], self.table, self.columns), circle
            importer.prepare(codes)
        for index in order:
            yield self._draft(self.table.numbers[index], self.table.rows[index], importers)

    def _order(self) -> tuple[Iterable[int], set[str]]:
        """The order of the rows, and the codes of those that are their own ancestors."""
        named = [name for name in self.kind.parents if name in self.columns]
        own = self.kind.code_fields[0]
        if not named or own not in self.columns:
            return range(len(self.table.rows)), set()
        column = {name: [_safely(cell).casefold() for cell in self.table.column(self.columns[name])] for name in named}
        codes = [_safely(cell).casefold() for cell in self.table.column(self.columns[own])]
        return parents_first(codes, list(zip(*column.values(), strict=True)))

    def _draft(self, number: int, row: tuple[Cell, ...], importers: list[Importer]) -> Draft:
        draft = Draft(number)
        values = self._values(draft, row)
        for importer in importers:
            importer.row(draft, values)
            if draft.problems:
                break  # what follows would speak of a row that is not taken
        return draft

    def _values(self, draft: Draft, row: tuple[Cell, ...]) -> dict[str, Any]:
        """What the cells say; a cell that cannot be read refuses the row, with its heading."""
        values: dict[str, Any] = dict(self.decisions.constants)
        for name, reader in self.decisions.readers.items():
            cell = row[self.columns[name]]
            if is_blank(cell):
                continue
            try:
                value = reader(cell)
            except Misread as problem:
                draft.refuse(f"{self.table.headings[self.columns[name]]}: {problem.sentence}")
                continue
            if value is not None:
                values[name] = value
        return values


@dataclass
class Tally:
    """What a run over the drafts comes to: each row as it is shown, how many of each outcome, and a hash that only
    equal writes share."""

    rows: list[Shown] = field(default_factory=list)
    counts: Counter[str] = field(default_factory=Counter)
    _digest: Any = field(default_factory=hashlib.sha256)

    def add(self, draft: Draft) -> None:
        """Count one draft in."""
        outcome = draft.outcome.value
        self.rows.append([draft.number, draft.label, outcome, draft.lines])
        self.counts[outcome] += 1
        self._digest.update(fingerprint(draft).encode())

    @property
    def shown(self) -> list[Shown]:
        """The rows in the order of the file."""
        return sorted(self.rows, key=lambda row: row[0])

    @property
    def hash(self) -> str:
        """The same for the same writes in the same order only."""
        return str(self._digest.hexdigest())

    @property
    def said(self) -> dict[str, int]:
        """Every outcome with its number."""
        return {outcome.value: self.counts[outcome.value] for outcome in Outcome}


def dry_run(plan: Plan) -> Tally:
    """The tally of all rows; nothing is written."""
    tally = Tally()
    for draft in plan.drafts():
        tally.add(draft)
    return tally


def _codes(names: Iterable[str], table: Table, columns: Mapping[str, int]) -> set[str]:
    """Every code of an animal in these columns of the file, as it is compared."""
    found: set[str] = set()
    for name in names:
        if name in columns:
            found.update(_safely(cell).casefold() for cell in table.column(columns[name]))
    return found


def _safely(cell: Cell) -> str:
    try:
        return text_of(cell)
    except Misread:
        return ""
