"""Animals from a keeper's list: who they are. What is known of them beside that is in `animal_facts`."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Any

from collection.dates import FuzzyDate
from collection.importing import kinds
from collection.importing.animal_facts import Facts
from collection.importing.drafts import Draft, Job
from collection.importing.kinds import Field, Importer
from collection.importing.onfile import OnFile
from collection.importing.sayings import how_from, read_origin
from collection.importing.species import Species
from collection.models import Contact, Specimen, SpecimenKind, Taxon
from collection.models.specimen import new_tag
from collection.spreadsheets.cells import Misread
from collection.spreadsheets.counts import CountReading
from collection.spreadsheets.sexes import SexReading
from collection.stages import Stage
from collection.wording import plural

DEAREST = 10_000_000  # what the column holds
_DATES = {
    "hatched": "Hatched",
    "acquired": "Acquired",
    "last_molt": "Last molt",
    "measured": "Measured",
    "died": "Died",
}
_IN_ORDER = (
    ("hatched", "acquired", "was acquired before it hatched"),
    ("hatched", "last_molt", "molted before it hatched"),
    ("hatched", "died", "died before it hatched"),
    ("acquired", "died", "died before it was acquired"),
    ("last_molt", "died", "molted after it died"),
)


@kinds.owner("animals", "Animals", 10, code_fields=("code", "dam", "sire"), parents=("dam", "sire"))
class Animals(Importer):
    """One row an animal, or a group kept as one. A row with a code on file changes that animal; empty cells change
    nothing."""

    fields = (
        Field("code", "Code", required=True, longest=40),
        Field("species", "Species", required=True),
        Field("name", "Own name", longest=60),
        Field("sex", "Sex", "sex", hint="F, M, 0.1, 1.2.5, unsexed"),
        Field("count", "How many", "count"),
        Field("stage", "Stage", "stage"),
        Field("instar", "Instar", "stage"),
        Field("size", "Size", "size", hint="leg span of a spider, body length of the others"),
        Field("leg_span", "Leg span", "size"),
        Field("body_length", "Body length", "size"),
        Field("carapace", "Carapace length", "size"),
        Field("mass", "Mass in grams", "number"),
        Field("measured", "Measured on", "date"),
        Field("hatched", "Hatched", "date"),
        Field("acquired", "Acquired", "date"),
        Field("seller", "From whom", longest=120),
        Field("price", "Price", "number"),
        Field("origin", "Origin", hint="CB, WC, farmed"),
        Field("locality", "Locality", longest=120),
        Field("last_molt", "Last molt", "date"),
        Field("status", "Status", hint="alive, dead, sold, missing"),
        Field("died", "Died", "date"),
        Field("notes", "Notes", "words"),
        Field("more_notes", "More notes", "words"),
    )

    def __init__(self, job: Job) -> None:
        super().__init__(job)
        self.species = Species(job.new_group)
        self.contacts = {contact.name.casefold(): contact for contact in Contact.objects.all()}
        self.new_contacts: dict[str, Contact] = {}
        self.tags = set(Specimen.objects.values_list("tag", flat=True))
        self.seen: dict[str, tuple[int, dict[str, Any]]] = {}

    def prepare(self, codes: set[str]) -> None:
        """The animals named, and all that an animal's row may add to."""
        self.on_file = OnFile(codes)
        self.facts = Facts(self.job, self.on_file)
        self.former = _former(codes)

    def row(self, draft: Draft, values: dict[str, Any]) -> None:
        """Who the animal is, then what is known of it."""
        code = values.get("code")
        draft.label = code or "(no code)"
        taxon, place = self.species.find(draft, values["species"]) if "species" in values else (None, "")
        if taxon is None and "species" not in values:
            draft.refuse("No species: every animal needs one.")
        if not self._first_of_its_code(draft, code, values):
            return
        _refuse_impossible_dates(draft, values, self.job.today)
        number = _head_count(draft, values)
        if draft.problems or taxon is None or code is None:
            return
        specimen = self.on_file.find(code)
        draft.known = specimen is not None
        if specimen is None and code.casefold() in self.former:
            now = self.former[code.casefold()]
            draft.refuse(f"{code} was the code of {now} before. A code is never used twice.")
            return
        particulars = self._particulars(draft, values, taxon, place, number)
        if specimen is None:
            specimen = Specimen(code=code, tag=self._new_tag(), **_dates_of(values), **particulars)
            draft.create(specimen, self._summary(specimen, values))
        else:
            self._change(draft, specimen, values, particulars)
        draft.specimens = [specimen]
        self.facts.add(draft, specimen, values, number)

    def _first_of_its_code(self, draft: Draft, code: str | None, values: dict[str, Any]) -> bool:
        """Codes are never used twice: a second row is refused unless it says the same."""
        if code is None:
            draft.refuse("No code: every animal needs one of its own, such as B-014.")
            return False
        before = self.seen.setdefault(code.casefold(), (draft.number, values))
        if before[0] == draft.number:
            return True
        if before[1] == values:
            draft.known = True
            draft.say(f"the same as row {before[0]}")
        else:
            draft.refuse(f"The code {code} stands in row {before[0]} already. A code is never used twice.")
        return False

    def _particulars(
        self, draft: Draft, values: dict[str, Any], taxon: Taxon, place: str, number: CountReading | None
    ) -> dict[str, Any]:
        """The columns of the specimen that the row fills."""
        found: dict[str, Any] = {"taxon": taxon}
        kind = _kind(taxon, values, number)
        if kind is not SpecimenKind.SINGLE:
            found["kind"] = kind.value
        found.update({name: values[name] for name in ("name", "locality") if name in values})
        if place and "locality" not in found:
            found["locality"] = place[:120]
        if "price" in values:
            _fill_price(draft, found, values["price"])
        if "origin" in values:
            _fill_origin(draft, found, values["origin"])
        self._fill_seller(draft, found, values.get("seller", ""), "price" in values)
        return found

    def _fill_seller(self, draft: Draft, found: dict[str, Any], seller: str, paid: bool) -> None:
        how, named = how_from(seller, paid)
        if how is not None:
            found["how"] = how.value
        if named:
            key = seller.casefold()
            contact = self.contacts.get(key)
            if contact is None:
                contact = self.new_contacts.setdefault(key, Contact(name=seller))
                draft.create(contact)
            found["acquired_from"] = contact

    def _change(self, draft: Draft, specimen: Specimen, values: dict[str, Any], particulars: dict[str, Any]) -> None:
        for name, words in (("hatched", "hatched"), ("acquired", "in the house since")):
            if name in values:
                draft.redate(specimen, f"{name}_", values[name], words)
        if specimen.how and how_from(values.get("seller", ""), False)[0] is None:
            particulars.pop("how", None)  # on file it says how; the list has only a price
        if not values.keys() & {"count", "stage", "sex"} or specimen.kind != SpecimenKind.SINGLE.value:
            particulars.pop("kind", None)  # on file it says what it is kept as
        draft.change(specimen, particulars)

    def _new_tag(self) -> str:
        """A tag that no other animal has, in the collection or in this file."""
        tag = new_tag()
        while tag in self.tags:
            tag = new_tag()
        self.tags.add(tag)
        return tag

    def _summary(self, specimen: Specimen, values: dict[str, Any]) -> str:
        parts = [str(specimen.taxon)]
        parts += [f"{name} {values[name]}" for name in ("hatched", "acquired") if name in values]
        return ", ".join(parts)


def _former(codes: set[str]) -> dict[str, str]:
    """Those of the codes that an animal on file once had, each with the code it bears now."""
    now = dict(Specimen.objects.values_list("pk", "code"))
    once: Any = Specimen.history.values_list("code", "id").distinct()
    return {
        key: now[pk]
        for code, pk in once.iterator()
        if (key := code.casefold()) in codes and pk in now and now[pk].casefold() != key
    }


def _dates_of(values: dict[str, Any]) -> dict[str, date]:
    found = {}
    for name in ("hatched", "acquired"):
        if name in values:
            found[f"{name}_earliest"], found[f"{name}_latest"] = values[name].earliest, values[name].latest
    return found


def _kind(taxon: Taxon, values: dict[str, Any], number: CountReading | None) -> SpecimenKind:
    stage = values.get("stage")
    if taxon.lifestyle == "culture" or (stage is not None and stage.stage is Stage.CULTURE):
        return SpecimenKind.CULTURE
    return SpecimenKind.GROUP if number is not None and (number.number > 1 or number.group) else SpecimenKind.SINGLE


def _head_count(draft: Draft, values: dict[str, Any]) -> CountReading | None:
    """How many animals the row is about, from the count or the sexes; None for a plain single animal."""
    counted: CountReading | None = values.get("count")
    sex: SexReading | None = values.get("sex")
    sexed = CountReading(sex.total, sex.exact, sex.together) if sex and (sex.total > 1 or sex.together) else None
    if counted and sexed and counted.number != sexed.number:
        draft.refuse(f"{plural(counted.number, 'animal')}, but the sexes add up to {sexed.number}.")
    if counted and counted.number == 0:
        draft.refuse("A count of 0: is the animal dead or gone? Give a date of death or a status.")
    return counted or sexed


def _fill_price(draft: Draft, found: dict[str, Any], price: Decimal) -> None:
    if not 0 <= price < DEAREST:
        draft.refuse(f"Price: {price} is no price of an animal.")
    else:
        found["price"] = price.quantize(Decimal("0.01"))


def _fill_origin(draft: Draft, found: dict[str, Any], text: str) -> None:
    try:
        found["origin"] = read_origin(text).value
    except Misread as problem:
        draft.refuse(f"Origin: {problem.sentence}")


def _refuse_impossible_dates(draft: Draft, values: dict[str, Any], today: date) -> None:
    """Nothing has happened in the future, and a life runs one way."""
    when: dict[str, FuzzyDate] = {name: values[name] for name in _DATES if name in values}
    for name, date_said in when.items():
        if date_said.earliest > today:
            draft.refuse(f"{_DATES[name]}: {date_said} lies in the future.")
    for first, then, words in _IN_ORDER:
        if first in when and then in when and when[then].latest < when[first].earliest:
            draft.refuse(f"It {words}: {_DATES[first].lower()} {when[first]}, {_DATES[then].lower()} {when[then]}.")
