"""Forms of the import: a file, what its columns mean, and what the columns cannot tell by themselves."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from django import forms
from django.core.files.uploadedfile import UploadedFile

from collection.forms.base import day_widget
from collection.importing import kinds
from collection.importing.readers import Question
from collection.models import ImportBatch
from collection.spreadsheets.cells import is_blank, shortened
from collection.spreadsheets.limits import MAX_FILE_BYTES
from collection.spreadsheets.tables import Table
from collection.stages import Group

LEAVE_OUT = "-"
SAMPLES = 3


class UploadForm(forms.Form):
    """A file, and what it is a list of."""

    kind = forms.ChoiceField(label="What it lists", widget=forms.RadioSelect, initial="animals")
    file = forms.FileField(label="File", help_text="CSV or XLSX, with your own headings in any order.")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        kind: Any = self.fields["kind"]
        kind.choices = [(known.name, known.title) for known in kinds.in_order()]

    def clean_file(self) -> UploadedFile[bytes]:
        """Not larger than can be read; how large is known before a byte is looked at."""
        file: UploadedFile[bytes] = self.cleaned_data["file"]
        if (file.size or 0) > MAX_FILE_BYTES:
            raise forms.ValidationError(f"This file is larger than {MAX_FILE_BYTES // 1024**2} MB. Split it.")
        return file


class SheetForm(forms.Form):
    """Another sheet of the same workbook."""

    sheet = forms.ChoiceField(label="Sheet")

    def __init__(self, *args: Any, sheets: Sequence[str], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        choice: Any = self.fields["sheet"]
        choice.choices = [(sheet, sheet) for sheet in sheets]


class ColumnsForm(forms.Form):
    """What each column of the file holds."""

    def __init__(self, *args: Any, batch: ImportBatch, table: Table, today: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.kind, self.table, self.today = kinds.known[batch.kind], table, today
        by_column = {index: name for name, index in batch.columns.items()}
        titles = [(one.name, one.label + (" (needed)" if one.required else "")) for one in self.kind.fields]
        for index, heading in enumerate(table.headings):
            self.fields[_name(index)] = forms.ChoiceField(
                label=heading,
                choices=[(LEAVE_OUT, "leave out"), *titles],
                initial=by_column.get(index, LEAVE_OUT),
                help_text=_samples(table, index),
            )
        self.column_names = [_name(index) for index in range(len(table.headings))]
        self.fields["as_of"] = forms.DateField(
            label="The list is as of",
            initial=batch.as_of,
            widget=day_widget(),
            help_text="Facts without a day of their own (sex, size, stage, place) are entered for this day.",
        )
        if any(one.name == "species" for one in self.kind.fields):
            self.fields["new_group"] = forms.ChoiceField(
                label="Species that are not on record",
                choices=[("", "refuse their rows"), *((group.value, f"add as {group.label}") for group in Group)],
                initial=batch.new_group,
                required=False,
            )

    @property
    def columns(self) -> list[forms.BoundField]:
        """The fields that stand for columns of the file."""
        return [self[name] for name in self.column_names]

    @property
    def others(self) -> list[forms.BoundField]:
        """What concerns the whole file."""
        return [self[name] for name in self.fields if name not in self.column_names]

    def clean_as_of(self) -> date:
        """A list is never of tomorrow."""
        day: date = self.cleaned_data["as_of"]
        if day > self.today:
            raise forms.ValidationError("This day lies in the future.")
        return day

    def clean(self) -> dict[str, Any]:
        """Every needed field has a column, and none has two."""
        data: dict[str, Any] = super().clean() or self.cleaned_data
        labels = {one.name: one.label for one in self.kind.fields}
        taken: dict[str, str] = {}
        for index, heading in enumerate(self.table.headings):
            chosen = data.get(_name(index), LEAVE_OUT)
            if chosen in taken:
                self.add_error(_name(index), f"“{taken[chosen]}” is {labels[chosen]} already. Leave one of them out.")
            elif chosen != LEAVE_OUT:
                taken[chosen] = heading
        missing = [
            one.label for one in self.kind.fields if one.required and one.choices is None and one.name not in taken
        ]
        if missing:
            self.add_error(None, f"Say which column holds: {', '.join(missing)}.")
        return data

    def chosen(self) -> dict[str, int]:
        """The columns by field."""
        names = {index: self.cleaned_data[_name(index)] for index in range(len(self.table.headings))}
        return {name: index for index, name in names.items() if name != LEAVE_OUT}


def _name(index: int) -> str:
    return f"column_{index}"


def _samples(table: Table, index: int) -> str:
    """The first few different cells of a column."""
    found: dict[str, None] = {}
    for row in table.rows:
        if not is_blank(row[index]):
            found.setdefault(shortened(str(row[index]).removesuffix(" 00:00:00"), 30))
        if len(found) == SAMPLES:
            break
    return " · ".join(found) or "nothing in it"


class QuestionsForm(forms.Form):
    """What only the keeper can know: which way round dates stand, decimal marks, units."""

    def __init__(self, *args: Any, questions: Sequence[Question], answers: Mapping[str, str], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for question in questions:
            self.fields[question.key] = forms.ChoiceField(
                label=question.sentence,
                choices=[
                    (choice.value, f"{choice.label}: {choice.example}" if choice.example else choice.label)
                    for choice in question.choices
                ],
                widget=forms.RadioSelect,
                initial=answers.get(question.key),
                error_messages={"required": "Choose one. Nothing is guessed here."},
            )
