"""Forms of the labels page: what for, on which paper, under which address, and what a printer does wrong."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Any

from django import forms
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db.models import Q, QuerySet
from django.http import QueryDict

from collection import tags
from collection.forms.base import day_widget
from collection.forms.specimen import RegisterFilter
from collection.models import Specimen
from husbandry.label_services import prints
from husbandry.label_services.prints import Subjects
from husbandry.labels import calibration, codes
from husbandry.labels.calibration import TRUE
from husbandry.labels.content import DEFAULTS, PART_LABELS, Kind, Part
from husbandry.labels.papers import A4, LETTER, PAPERS, ROLLS, SHEETS, Paper
from husbandry.labels.run import Job
from husbandry.models import Enclosure, LabelAddress, Place, Printer, Stay

MOST_LABELS = 1000
NAMED = 8  # unknown codes in a refusal
OWN, OWN_ROLL = "own", "own-roll"
USUAL_PAPER = {Kind.ENCLOSURE: "a4-3x8", Kind.SPIDERLING: "a4-5x13", Kind.TRANSPORT: "a4-3x8"}
USUAL_DPI = {True: 203, False: 600}  # by whether it is a roll: label printers, office printers
PAGES = {"a4": A4, "letter": LETTER}


class ChoiceForm(RegisterFilter):
    """What labels are for: the register's own filters, or codes, less what is left out."""

    of = forms.ChoiceField(
        label="Labels for",
        choices=[("animals", "animals"), ("enclosures", "enclosures")],
        widget=forms.RadioSelect,
        initial="animals",
    )
    since = forms.DateField(label="New since", required=False, widget=day_widget())
    only = forms.ChoiceField(
        label="Label so far",
        required=False,
        choices=[("", "printed or not"), ("new", "never printed"), ("stale", "carries an old address")],
    )
    codes = forms.CharField(
        label="Or these codes",
        required=False,
        max_length=40_000,
        widget=forms.Textarea(attrs={"rows": 3, "autocomplete": "off", "autocapitalize": "characters"}),
        help_text="Codes or tags, with commas or on lines of their own. They go before the filters.",
    )

    @property
    def for_animals(self) -> bool:
        """Whether the labels are for animals and not for enclosures."""
        return bool(self.cleaned_data.get("of") != "enclosures")

    @property
    def left_out(self) -> set[int]:
        """Keys that the keeper ticked to be left out."""
        data = self.data
        ticked = data.getlist("leave") if isinstance(data, QueryDict) else []
        return {int(key) for key in ticked if key.isdecimal() and len(key) < 19}

    def clean(self) -> dict[str, Any]:
        """Codes must all be known: a label that is missed is an animal without one."""
        data: dict[str, Any] = super().clean() or self.cleaned_data
        if data.get("codes"):
            self._keys, unknown = self._known(data["codes"])
            if unknown:
                more = f" and {len(unknown) - NAMED} more" if len(unknown) > NAMED else ""
                what = "animal" if self.for_animals else "enclosure"
                self.add_error("codes", f"No {what} is called: {', '.join(unknown[:NAMED])}{more}.")
        return data

    def _known(self, text: str) -> tuple[list[int], list[str]]:
        """The keys of all codes and tags in the text, in their order, and the words that mean nothing here."""
        model: Any = Specimen if self.for_animals else Enclosure
        by_code: dict[str, int] = {}
        by_tag: dict[str, int] = {}
        for pk, code, tag in model.objects.values_list("pk", "code", "tag"):
            by_code[code.casefold()], by_tag[tag] = pk, pk
        found: dict[int, None] = {}
        unknown: list[str] = []
        for piece in filter(None, map(str.strip, re.split(r"[,;\t\r\n]+", text))):
            for word in [piece] if piece.casefold() in by_code else _words(piece):
                pk = by_code.get(word.casefold()) or by_tag.get(tags.read(word) or "")
                if pk:
                    found[pk] = None
                else:
                    unknown.append(word)
        return list(found), unknown

    def chosen(self) -> Subjects:
        """All that the codes or the filters give, racks in walking order; what is left out is still among them."""
        if self.cleaned_data.get("codes"):
            return Subjects(self.for_animals, self._keys)
        animals = self.narrow(Specimen.objects.all())
        since = self.cleaned_data.get("since")
        if not self.for_animals:
            return Subjects(False, list(self._boxes(animals).values_list("pk", flat=True)))
        if since:
            animals = animals.filter(Q(entered_at__date__gte=since) | Q(acquired_earliest__gte=since))
        animals = prints.animals_by_label(self.cleaned_data.get("only", ""), animals)
        return Subjects(True, _in_walking_order(animals.order_by("code").values_list("pk", flat=True)))

    def _boxes(self, animals: QuerySet[Specimen]) -> QuerySet[Enclosure]:
        """Enclosures in a place, and where something of the animals was asked, those that such animals live in."""
        data = self.cleaned_data
        boxes = Enclosure.objects.in_use().in_walking_order()
        place = Place.objects.filter(pk=int(data["place"])).first() if data.get("place") else None
        if place:
            boxes = boxes.filter(place__walk_key__startswith=place.walk_key)
        if any(data.get(name) for name in ("q", "group", "sex", "stage", "listed", "status")):
            lived_in = Stay.objects.open().filter(specimen__in=animals)
            boxes = boxes.filter(Q(pk__in=lived_in.values("enclosure")) | Q(code__icontains=data.get("q") or "\0"))
        if data.get("since"):
            made = Enclosure.history.filter(history_type="+", history_date__date__gte=data["since"])
            boxes = boxes.filter(pk__in=made.values("id"))
        return prints.enclosures_by_label(data.get("only", ""), boxes)


def _words(piece: str) -> list[str]:
    """A tag may be written in two groups of four; anything else with spaces is several codes."""
    return [piece] if tags.read(piece) else piece.split()


def _in_walking_order(ids: Iterable[int]) -> list[int]:
    """Keys of animals as one walks past them; those that stand nowhere come last, in the order they came in."""
    rows = Stay.objects.open().values_list("specimen", "enclosure__place__walk_key", "enclosure__position")
    spots = {animal: (key or "~", position) for animal, key, position in rows}
    return sorted(ids, key=lambda pk: spots.get(pk, ("~", 0)))


def _paper_choices() -> list[tuple[str, list[tuple[str, str]]]]:
    groups = {"A4": SHEETS, "Letter": SHEETS, "Roll": ROLLS}
    found = [
        (
            f"{word}s" if word == "Roll" else f"{word} sheets",
            [(k, _said(p)) for k, p in known.items() if word in p.name],
        )
        for word, known in groups.items()
    ]
    return [*found, ("Own millimetres", [(OWN, "own sheet"), (OWN_ROLL, "own roll")])]


def _said(paper: Paper) -> str:
    size = f"{paper.label_width:g} × {paper.label_height:g} mm"
    return f"Roll, {size}" if paper.is_roll else f"{paper.name}: {size}"


def _mm(label: str, least: float = 0.0) -> forms.FloatField:
    widget = forms.NumberInput(attrs={"step": "0.05", "inputmode": "decimal"})
    return forms.FloatField(label=label, required=False, min_value=least, max_value=320, widget=widget)


class LabelForm(forms.Form):
    """Which labels on which paper, and what is printed on them."""

    kind = forms.ChoiceField(
        label="Kind", choices=[(kind.value, kind.label) for kind in Kind], widget=forms.RadioSelect
    )
    paper = forms.ChoiceField(label="Paper", choices=_paper_choices)
    own_page = forms.ChoiceField(label="page", required=False, choices=[("a4", "A4"), ("letter", "Letter")])
    own_width = _mm("label, wide", 10)
    own_height = _mm("label, high", 10)
    own_columns = forms.IntegerField(label="columns", required=False, min_value=1, max_value=20)
    own_rows = forms.IntegerField(label="rows", required=False, min_value=1, max_value=40)
    own_left = _mm("left margin")
    own_top = _mm("top margin")
    own_pitch_x = _mm("column to column")
    own_pitch_y = _mm("row to row")
    printer = forms.ModelChoiceField(
        Printer.objects.all(), label="Printer", required=False, empty_label="any, as it comes"
    )
    dpi = forms.ChoiceField(
        label="Dots per inch",
        required=False,
        choices=[("", "as usual for the paper"), *((str(dpi), f"{dpi} dpi") for dpi in codes.RESOLUTIONS)],
    )
    start = forms.IntegerField(label="Start at place", min_value=1, validators=[MaxValueValidator(800)])
    copies = forms.IntegerField(label="Copies of each", validators=[MinValueValidator(1), MaxValueValidator(20)])
    parts = forms.MultipleChoiceField(
        label="Print on them",
        required=False,
        choices=[(part.value, label) for part, label in PART_LABELS.items()],
        widget=forms.CheckboxSelectMultiple,
    )

    OWN_FIELDS = ("own_page", "own_width", "own_height", "own_columns", "own_rows", "own_left", "own_top",
                  "own_pitch_x", "own_pitch_y")  # fmt: skip

    @property
    def own_fields(self) -> list[forms.BoundField]:
        """The keeper's own millimetres."""
        return [self[name] for name in self.OWN_FIELDS]

    @property
    def own_open(self) -> bool:
        """Whether they are asked for, or wrong."""
        return self.data.get("paper") in {OWN, OWN_ROLL} or any(field.errors for field in self.own_fields)

    def clean(self) -> dict[str, Any]:
        """The paper must be one, and the first place on it."""
        data: dict[str, Any] = super().clean() or self.cleaned_data
        if "paper" not in data or self.errors:
            return data
        try:
            paper = self._paper(data)
            paper.check()
        except ValueError as error:
            self.add_error("paper", str(error))
            return data
        data["stock"] = paper
        if data["start"] > paper.places:
            self.add_error("start", f"A page holds {paper.places} label{'s' if paper.places > 1 else ''}.")
        return data

    def _paper(self, data: dict[str, Any]) -> Paper:
        if data["paper"] in PAPERS:
            return PAPERS[data["paper"]]
        width, height = data["own_width"], data["own_height"]
        if not width or not height:
            raise ValueError("Give the label’s width and height in millimetres.")
        if data["paper"] == OWN_ROLL:
            return Paper("Own roll", width, height, width, height)
        columns, rows = data["own_columns"] or 1, data["own_rows"] or 1
        pitch_x, pitch_y = data["own_pitch_x"] or width, data["own_pitch_y"] or height
        page = PAGES[data["own_page"] or "a4"]
        left, top = data["own_left"], data["own_top"]
        if left is None:
            left = max((page[0] - (columns - 1) * pitch_x - width) / 2, 0.0)
        if top is None:
            top = max((page[1] - (rows - 1) * pitch_y - height) / 2, 0.0)
        return Paper(f"Own sheet, {columns} × {rows}", *page, width, height, columns, rows, left, top, pitch_x, pitch_y)

    def job(self, house: str) -> Job:
        """What was chosen, ready to be laid out. Raises ValueError when the printer's calibration cannot be."""
        data = self.cleaned_data
        printer: Printer | None = data["printer"]
        paper: Paper = data["stock"]
        return Job(
            Kind(data["kind"]),
            paper,
            house,
            frozenset(Part(part) for part in data["parts"]),
            int(data["dpi"] or (printer.dpi if printer else USUAL_DPI[paper.is_roll])),
            data["start"],
            data["copies"],
            printer.calibration if printer else TRUE,
        )


def with_defaults(data: QueryDict, *, kind_changed: bool) -> QueryDict:
    """The data of a form with what it does not say filled in; parts follow the kind until the keeper changes them.

    `kind_changed` says whether a change of kind may change the parts: it may while choosing, never when printing.
    """
    filled = data.copy()
    asked = filled.get("kind") or ""
    kind = Kind(asked) if asked in set(Kind) else Kind.ENCLOSURE
    shown = filled.get("shown", "")
    usual = {"kind": kind.value, "paper": USUAL_PAPER[kind], "start": "1", "copies": "1", "of": "animals"}
    for name, value in usual.items():
        if not filled.get(name):
            filled[name] = value
    moved_on = kind_changed and shown in set(Kind) and shown != kind and _untouched(filled.getlist("parts"), shown)
    if moved_on or not shown:
        filled.setlist("parts", sorted(DEFAULTS[kind]))
    return filled


def _untouched(parts: list[str], kind: str) -> bool:
    return set(parts) == {part.value for part in DEFAULTS[Kind(kind)]}


class AddressForm(forms.Form):
    """Under which address phones reach the house."""

    address = forms.CharField(
        max_length=120,
        widget=forms.TextInput(attrs={"autocomplete": "off", "autocapitalize": "off", "spellcheck": "false"}),
        help_text="What a phone types to come here, for example http://rack.local:8000.",
    )

    def clean_address(self) -> str:
        """As codes carry it."""
        try:
            return codes.address(self.cleaned_data["address"])
        except ValueError as error:
            raise forms.ValidationError(str(error)) from None

    def write(self) -> None:
        """Store it."""
        prints.save_address(self.cleaned_data["address"])

    @classmethod
    def current(cls, data: QueryDict | None, suggestion: str) -> AddressForm:
        """The form with what stands now, or with a suggestion."""
        return cls(data, initial={"address": LabelAddress.of_the_house().lower() or suggestion})


class PrinterForm(forms.ModelForm):  # type: ignore[type-arg]
    """A printer, and what the keeper read off its calibration page."""

    title = "Printer"
    submit = "Save"
    paper = forms.ChoiceField(label="Calibrated on", choices=lambda: _paper_choices()[:-1])

    class Meta:
        model = Printer
        fields = ("name", "dpi", "paper", "across_mm", "down_mm", "left_mm", "top_mm")
        help_texts = {
            "across_mm": "As the ruler reads it; empty: as drawn.",
            "down_mm": "As the ruler reads it; empty: as drawn.",
        }

    def clean(self) -> dict[str, Any]:
        """What was read must be possible."""
        data: dict[str, Any] = super().clean() or self.cleaned_data
        paper = PAPERS.get(data.get("paper", ""))
        if paper is None:
            return data
        mark, rules = calibration.mark(paper), calibration.rules(paper)
        for read_mark, read_rule, rule in (("left_mm", "across_mm", rules[0]), ("top_mm", "down_mm", rules[1])):
            try:
                calibration.axis(mark, rule, data.get(read_mark), data.get(read_rule))
            except ValueError as error:
                self.add_error(read_rule if "rule" in str(error) else read_mark, str(error))
        return data

    def write(self) -> None:
        """Store the printer."""
        prints.save_printer(self.instance)
