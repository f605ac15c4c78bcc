"""From the columns of a file to readers of its cells, with a question wherever a column cannot decide itself."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, timezone
from decimal import Decimal
from typing import Any

from collection.dates import say_date
from collection.importing import clocks
from collection.importing.kinds import Field
from collection.spreadsheets.cells import Cell, Misread, says_nothing, shortened, text_of
from collection.spreadsheets.clocktimes import all_say_their_zone
from collection.spreadsheets.counts import read_count, read_yes_no
from collection.spreadsheets.datecells import Order
from collection.spreadsheets.datecolumns import DateFormat, Mixed, decide_dates, forced
from collection.spreadsheets.lifestages import read_stage
from collection.spreadsheets.loggers import says_fahrenheit, without_unit, zone_of
from collection.spreadsheets.numbers import (
    IN_MM,
    AmbiguousNumbers,
    NumberFormat,
    Unit,
    decide_numbers,
    decide_unit,
    read_size,
)
from collection.spreadsheets.sexes import read_sex
from collection.spreadsheets.tables import Table
from collection.wording import plural

Reader = Callable[[Cell], Any]
UNIT_LABELS = {Unit.MM: "millimetres", Unit.CM: "centimetres", Unit.INCH: "inches"}


@dataclass(frozen=True)
class Choice:
    """One answer to a question, with what it makes of a cell of the file."""

    value: str
    label: str
    example: str = ""


@dataclass(frozen=True)
class Question:
    """Something only the keeper can know about one column."""

    key: str
    sentence: str
    choices: tuple[Choice, ...]


@dataclass
class Decisions:
    """How to read each mapped column; questions that are still open; what the keeper should know."""

    readers: dict[str, Reader] = field(default_factory=dict)
    constants: dict[str, str] = field(default_factory=dict)  # what holds for every row of a file
    questions: list[Question] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    table: Table | None = None  # with times of day joined to their dates, where they stood in two columns


def decide(
    fields: Iterable[Field], table: Table, columns: Mapping[str, int], answers: Mapping[str, str], today: date
) -> Decisions:
    """Readers for the mapped columns. `answers` holds earlier answers by question; "dates", "decimal" and "unit"
    without a field name answer for every column."""
    fields = list(fields)
    decisions = Decisions()
    for one in fields:
        if one.clock_of in columns and one.name in columns:
            table = table.with_clock(columns[one.clock_of], columns[one.name])
    decisions.table = table
    for one in fields:
        if one.clock_of:
            continue
        if one.name in columns:
            column = _Column(one, table.headings[columns[one.name]], table.column(columns[one.name]), answers)
            decisions.readers[one.name] = _remembering(column.reader(decisions, today))
        elif one.choices is not None:
            _choose(one, answers, decisions)
    return decisions


PICKED = "pick:"  # answers that hold for one file alone, and are not remembered with its headings


def _choose(one: Field, answers: Mapping[str, str], decisions: Decisions) -> None:
    """What a file without such a column is of, as the keeper says it."""
    offered = one.choices() if one.choices is not None else ()
    said = answers.get(f"{PICKED}{one.name}", "")
    if said in {value for value, _ in offered}:
        decisions.constants[one.name] = said
        return
    choices = tuple(Choice(value, label) for value, label in offered)
    sentence = f"Which {one.label.lower()} is this file of?"
    if not choices:
        sentence = f"This file does not say its {one.label.lower()}, and none is on record yet. Add it first."
    decisions.questions.append(Question(f"{PICKED}{one.name}", sentence, choices))


@dataclass
class _Column:
    field: Field
    heading: str
    cells: list[Cell]
    answers: Mapping[str, str]

    def reader(self, decisions: Decisions, today: date) -> Reader:
        makers: dict[str, Callable[[], Reader]] = {
            "date": lambda: self._dates(decisions, today).read,
            "instant": lambda: self._instants(decisions, today),
            "celsius": lambda: self._celsius(decisions),
            "number": lambda: self._numbers(decisions).read,
            "percent": lambda: self._percent(decisions),
            "size": lambda: self._sizes(decisions),
        }
        maker = makers.get(self.field.reads)
        return maker() if maker else PLAIN.get(self.field.reads, _text(self.field.longest))

    def _answer(self, what: str) -> str:
        return self.answers.get(f"{what}:{self.field.name}") or self.answers.get(what, "")

    def _dates(self, decisions: Decisions, today: date) -> DateFormat:
        decided = decide_dates(self.cells, today)
        if isinstance(decided, DateFormat):
            if decided.note:
                decisions.notes.append(f"{self.heading}: {decided.note}")
            return decided
        said = self._answer("dates")
        if said in {option.order.value for option in decided.options}:
            return forced(Order(said), today)
        why = "mixes both ways" if isinstance(decided, Mixed) else "can be read more than one way"
        choices = tuple(
            Choice(
                option.order.value,
                option.label,
                f"{option.written} is {say_date(option.reads)}"
                + (f"; {plural(option.refused, 'row')} refused" * bool(option.refused)),
            )
            for option in decided.options
        )
        decisions.questions.append(Question(f"dates:{self.field.name}", f"The column “{self.heading}” {why}.", choices))
        return forced(decided.options[0].order, today)

    def _instants(self, decisions: Decisions, today: date) -> Reader:
        """Dates with their time of day; whose clock it was is asked unless every cell says it."""
        dates = self._dates(decisions, today)
        known = clocks.zones()
        said = self._answer("zone")
        if all_say_their_zone(self.cells):
            said = said or clocks.UTC
        offset = zone_of(self.heading)
        if offset is not None:
            decisions.notes.append(f"{self.heading}: the heading says whose clock wrote the times.")
            return clocks.InstantReader(dates, timezone(offset)).read
        if said not in known:
            choices = tuple(
                Choice(value, label, clocks.example(dates, self.cells, zone)) for value, (label, zone) in known.items()
            )
            sentence = f"Which clock wrote the times of the column “{self.heading}”?"
            decisions.questions.append(Question(f"zone:{self.field.name}", sentence, choices))
            said = clocks.HOUSE
        return clocks.InstantReader(dates, known[said][1]).read

    def _celsius(self, decisions: Decisions) -> Reader:
        """Temperatures in °C, also from a column or a cell in °F."""
        numbers = self._numbers(decisions)
        by_heading = says_fahrenheit(self.heading)

        def read(cell: Cell) -> float | None:
            plain, said = without_unit(cell)
            number = numbers.read(plain)
            if number is None:
                return None
            return (float(number) - 32) * 5 / 9 if (by_heading if said is None else said) else float(number)

        return read

    def _percent(self, decisions: Decisions) -> Reader:
        numbers = self._numbers(decisions)
        return lambda cell: numbers.read(without_unit(cell)[0])

    def _numbers(self, decisions: Decisions) -> NumberFormat:
        decided = decide_numbers(self.cells)
        if isinstance(decided, NumberFormat):
            return decided
        return self._ask_decimal(decided, decisions)

    def _ask_decimal(self, decided: AmbiguousNumbers, decisions: Decisions) -> NumberFormat:
        said = self._answer("decimal")
        if said in {",", "."}:
            return decided.settled(said)
        labels = {",": "decimal comma", ".": "decimal point"}
        choices = tuple(
            Choice(mark, labels[mark], f"{decided.written} is {value:f}") for mark, value in decided.readings
        )
        sentence = f"In the column “{self.heading}” a number can be read two ways."
        decisions.questions.append(Question(f"decimal:{self.field.name}", sentence, choices))
        return decided.settled(".")

    def _sizes(self, decisions: Decisions) -> Reader:
        numbers = self._numbers(decisions)
        unit = decide_unit(self.heading, self.cells)
        said = self._answer("unit")
        if unit is None and said in {unit.value for unit in Unit}:
            unit = Unit(said)
        if unit is None:
            decisions.questions.append(self._ask_unit())
        chosen = unit or Unit.CM
        return lambda cell: read_size(cell, numbers, chosen)

    def _ask_unit(self) -> Question:
        written = next(text for cell in self.cells if not says_nothing(text := str(cell).strip()))
        number = next((n for n in [_number(written)] if n is not None), Decimal(1))
        choices = tuple(
            Choice(unit.value, UNIT_LABELS[unit], f"{written} is {float(number * IN_MM[unit]):g} mm") for unit in Unit
        )
        return Question(
            f"unit:{self.field.name}", f"In what unit are the sizes of the column “{self.heading}”?", choices
        )


def _remembering(reader: Reader) -> Reader:
    """The same reader; a text that stands in many rows is read once. What readers return never changes."""
    known: dict[str, Any] = {}

    def read(cell: Cell) -> Any:
        if not isinstance(cell, str):
            return reader(cell)
        if cell not in known:
            known[cell] = reader(cell)
        return known[cell]

    return read


def _number(text: str) -> Decimal | None:
    try:
        return NumberFormat().read(text)
    except Misread:
        return None


def _text(longest: int) -> Reader:
    def read(cell: Cell) -> str | None:
        text = text_of(cell)
        if says_nothing(text):
            return None
        if longest and len(text) > longest:
            raise Misread(f"“{shortened(text)}” is longer than {longest} characters.")
        return text

    return read


def _whole(cell: Cell) -> int | None:
    number = NumberFormat().read(cell)
    if number is None:
        return None
    if number != number.to_integral_value() or not 0 <= number <= 9999:
        raise Misread(f"“{text_of(cell)}” is not a whole number.")
    return int(number)


def _words(cell: Cell) -> str | None:
    """A text whose lines are kept: notes."""
    text = cell.strip() if isinstance(cell, str) else text_of(cell)
    return None if says_nothing(text) else text


PLAIN: dict[str, Reader] = {
    "sex": lambda cell: reading if (reading := read_sex(text_of(cell))).kind != "unknown" else None,
    "count": lambda cell: read_count(text_of(cell)),
    "stage": lambda cell: read_stage(text_of(cell)),
    "yes_no": lambda cell: read_yes_no(text_of(cell)),
    "whole": _whole,
    "words": _words,
}
