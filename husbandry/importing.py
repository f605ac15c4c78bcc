"""What a keeper's list tells of husbandry: where an animal stands, its last meal, its rhythm; and lists of feedings."""

from __future__ import annotations

from collections import Counter
from datetime import date
from typing import Any

from collection.dates import FuzzyDate
from collection.importing import kinds
from collection.importing.drafts import Draft, Job
from collection.importing.kinds import Field, Importer
from collection.importing.onfile import OnFile, events_of
from collection.models import Death, Departure, Specimen, SpecimenKind
from collection.models.specimen import new_tag
from collection.spreadsheets.cells import Misread, listed, shortened
from collection.spreadsheets.numbers import NumberFormat, Unit, read_size
from collection.wording import every, plural
from husbandry.models import Enclosure, Feeding, FeedRhythm, Place, Stay
from husbandry.rhythm import Outcome
from husbandry.services import renumber_walk

_OUTCOMES = {
    Outcome.TAKEN: listed("taken|yes|y|x|ate|eaten|accepted|ok|ja|j|gefressen|genommen|angenommen|✓|✔|1|true"),
    Outcome.REFUSED: listed(
        "refused|no|n|not eaten|ignored|rejected|nein|verweigert|abgelehnt|nicht gefressen|0|false"
    ),
    Outcome.LEFT: listed("left|left in|still there|liegen gelassen|drin gelassen"),
    Outcome.REMOVED: listed("removed|taken out|entfernt|herausgenommen"),
}


def read_outcome(text: str) -> Outcome:
    """What became of the prey. Raises Misread."""
    for outcome, words in _OUTCOMES.items():
        if text.casefold() in words:
            return outcome
    raise Misread(f"“{shortened(text)}” is no outcome. Write taken, refused, left in or taken out.")


def _end_told(record: Any) -> date | None:
    """The day after which an animal stands nowhere any more, where a record tells of such an end."""
    if isinstance(record, Departure) and record.kind == Departure.Kind.PASSED_ON.value:
        return record.on
    return record.latest if isinstance(record, Death) else None


@kinds.adds_to("animals")
class Keeping(Importer):
    """The enclosure and place of an animal, its last meal, and the keeper's own rhythm."""

    fields = (
        Field("enclosure", "Enclosure", longest=40),
        Field("place", "Place", longest=60, hint="rack, shelf or room"),
        Field("last_fed", "Last fed", "date"),
        Field("rhythm", "Feed every … days", "whole"),
    )

    def __init__(self, job: Job) -> None:
        super().__init__(job)
        self.places = {place.name.casefold(): place for place in Place.objects.filter(parent=None)}
        self.new_places: dict[str, Place] = {}
        self.enclosures = {enclosure.code.casefold(): enclosure for enclosure in Enclosure.objects.all()}
        self.tags = set(Enclosure.objects.values_list("tag", flat=True))
        taken = Stay.objects.open().select_related("specimen")
        self.occupants = {stay.enclosure_id: stay for stay in taken if not stay.companion}
        self.taken_here: dict[str, tuple[int, str]] = {}

    def prepare(self, codes: set[str]) -> None:
        """Stays, meals and rhythms of the animals named."""
        ids = OnFile(codes).ids
        self.stays = {pk: stay for pk, rows in events_of(Stay, ids).items() for stay in rows if stay.ends is None}
        self.fed = {(pk, row.on) for pk, rows in events_of(Feeding, ids).items() for row in rows}
        self.rhythms = events_of(FeedRhythm, ids)

    def row(self, draft: Draft, values: dict[str, Any]) -> None:
        """Adds to the draft of an animal."""
        if not draft.specimens:
            return
        specimen = draft.specimens[0]
        self._feed(draft, specimen, values.get("last_fed"))
        end = next((day for record in draft.creates if (day := _end_told(record))), None)
        current = self.stays.get(specimen.pk or 0)
        if end is not None and current is not None:
            draft.change(current, {"ends": max(end, current.begins)})
        elif end is None and draft.ended is None:
            self._rhythm(draft, specimen, values.get("rhythm"))
            self._stay(draft, specimen, values)

    @classmethod
    def afterwards(cls) -> None:
        """New places take their turn in the walk."""
        renumber_walk()

    def _feed(self, draft: Draft, specimen: Specimen, when: FuzzyDate | None) -> None:
        if when is None:
            return
        if when.earliest > self.job.today:
            draft.refuse(f"Last fed: {when} lies in the future.")
        elif not when.exact:
            draft.say(f"no meal entered: “{when}” is not a day")
        elif draft.ended is not None and when.earliest > draft.ended:
            draft.refuse(f"Last fed: {when} lies after its end, {draft.ended}.")
        elif (specimen.pk, when.earliest) not in self.fed:
            feeding = Feeding(specimen=specimen, on=when.earliest, outcome=Outcome.TAKEN.value)
            draft.create(feeding, f"fed {when}")

    def _rhythm(self, draft: Draft, specimen: Specimen, days: int | None) -> None:
        if days is None:
            return
        if not 1 <= days <= 400:
            draft.refuse(f"Feed every {days} days: a rhythm is 1 to 400 days.")
            return
        known = max(self.rhythms.get(specimen.pk or 0, ()), key=lambda row: row.since, default=None)
        if known is not None and known.days == days:
            return
        if known is not None and known.since >= self.job.as_of:
            draft.say(f"its rhythm of {plural(known.days, 'day')} is newer and stays")
            return
        rhythm = FeedRhythm(specimen=specimen, days=days, since=self.job.as_of, reason="from the keeper's list")
        draft.create(rhythm, every(days))

    def _stay(self, draft: Draft, specimen: Specimen, values: dict[str, Any]) -> None:
        """Where it stands. A place without an enclosure gets one that bears the animal's code."""
        code, place_name = values.get("enclosure"), values.get("place")
        if code is None and place_name is None:
            return
        current = self.stays.get(specimen.pk or 0)
        if code is None and current is not None:
            return
        place = self._place(draft, place_name) if place_name else None
        enclosure = self._enclosure(draft, code or specimen.code, place)
        if current is not None and current.enclosure_id == enclosure.pk:
            return
        if self._refused_company(draft, specimen, enclosure):
            return
        begins = self._since(specimen, current)
        if current is not None:
            draft.change(current, {"ends": begins})
        draft.create(Stay(specimen=specimen, enclosure=enclosure, begins=begins), f"in {enclosure.code}")

    def _since(self, specimen: Specimen, current: Stay | None) -> date:
        """Since when it stands there: as of the list, or later when it was moved since."""
        return max(self.job.as_of, current.begins) if current is not None else self.job.as_of

    def _place(self, draft: Draft, name: str) -> Place:
        key = name.casefold()
        if key in self.places:
            return self.places[key]
        place = self.new_places.setdefault(key, Place(name=name))
        draft.create(place)
        return place

    def _enclosure(self, draft: Draft, code: str, place: Place | None) -> Enclosure:
        """An enclosure on file, or a new one; two rows never share a new one."""
        enclosure = self.enclosures.get(code.casefold())
        if enclosure is None:
            enclosure = Enclosure(code=code, tag=self._new_tag(), place=place)
            draft.create(enclosure)
        elif place is not None and enclosure.place_id is None:
            draft.change(enclosure, {"place": place})
        return enclosure

    def _refused_company(self, draft: Draft, specimen: Specimen, enclosure: Enclosure) -> bool:
        """One animal or group an enclosure; the keeper puts others together by hand, on purpose."""
        there = self.occupants.get(enclosure.pk or 0)
        if there is not None and there.specimen_id != specimen.pk:
            draft.refuse(f"Enclosure {enclosure.code} is taken by {there.specimen.code}.")
            return True
        key = enclosure.code.casefold()
        first, code = self.taken_here.setdefault(key, (draft.number, specimen.code))
        if first != draft.number:
            single = specimen.kind == SpecimenKind.SINGLE.value
            remedy = "Give it one of its own" if single else "Give the group one of its own"
            draft.refuse(
                f"Enclosure {enclosure.code} is taken by {code} (row {first}). {remedy}, or leave it empty here."
            )
        return first != draft.number

    def _new_tag(self) -> str:
        tag = new_tag()
        while tag in self.tags:
            tag = new_tag()
        self.tags.add(tag)
        return tag


@kinds.owner("feedings", "Feedings", 30)
class Feedings(Importer):
    """One row an offer of food to an animal on file."""

    fields = (
        Field("code", "Code of the animal", required=True, longest=40),
        Field("date", "Day", "date", required=True),
        Field("prey", "Prey", longest=40),
        Field("size", "Prey size", longest=60, hint="in words, or with its unit: 8 mm"),
        Field("number", "How many", "whole"),
        Field("outcome", "Outcome", hint="taken, refused, left in, taken out"),
        Field("notes", "Notes", longest=200),
    )

    def prepare(self, codes: set[str]) -> None:
        """The animals named, and their meals: each stands for one row of the file."""
        self.on_file = OnFile(codes)
        meals = [row for rows in events_of(Feeding, self.on_file.ids).values() for row in rows]
        self.meals = Counter(_key(row) for row in meals)
        self.bare = {(row.specimen_id, row.on): row for row in meals if row.outcome == Outcome.TAKEN and not row.prey}

    def row(self, draft: Draft, values: dict[str, Any]) -> None:
        """The meal, unless it is on file."""
        draft.label = values.get("code", "(no code)")
        specimen = self.on_file.named(draft, values.get("code"))
        day = self._day(draft, values.get("date"))
        outcome = _outcome(draft, values.get("outcome"))
        if draft.problems or specimen is None or day is None:
            return
        if self.on_file.refuse_after_end(draft, specimen, day):
            return
        note, prey_mm = _size_and_note(values)
        feeding = Feeding(
            specimen=specimen,
            on=day,
            prey=values.get("prey", ""),
            prey_mm=prey_mm,
            number=max(values.get("number", 1), 1),
            outcome=outcome.value,
            note=note,
        )
        draft.specimens = [specimen]
        key = _key(feeding)
        if self.meals[key] > 0:
            self.meals[key] -= 1
            draft.known = True
            return
        bare = self.bare.pop((specimen.pk, day), None) if outcome is Outcome.TAKEN else None
        if bare is not None:  # the "last fed" of a list of animals, told here in full
            draft.known = True
            told = {name: getattr(feeding, name) for name in ("prey", "prey_mm", "number", "note")}
            draft.change(bare, {name: value for name, value in told.items() if value})
            return
        draft.create(feeding, f"{outcome.label} {day}: {feeding.number} {feeding.prey}".rstrip())

    def _day(self, draft: Draft, when: FuzzyDate | None) -> date | None:
        if when is None:
            if not draft.problems:
                draft.refuse("No day: when was it fed?")
            return None
        if not when.exact:
            draft.refuse(f"{when} is not a day; a meal needs one.")
        elif when.earliest > self.job.today:
            draft.refuse(f"{when} lies in the future.")
        return when.earliest


def _key(feeding: Feeding) -> tuple[int, date, str, int, str]:
    return (feeding.specimen_id, feeding.on, feeding.prey, feeding.number, feeding.outcome)


def _outcome(draft: Draft, text: str | None) -> Outcome:
    """A row without an outcome is a meal that was taken: that is what keepers write down."""
    try:
        return read_outcome(text) if text else Outcome.TAKEN
    except Misread as problem:
        draft.refuse(f"Outcome: {problem.sentence}")
        return Outcome.TAKEN


def _size_and_note(values: dict[str, Any]) -> tuple[str, float | None]:
    """A prey size with its unit is a length; in words ("medium") it goes to the note."""
    text, note = values.get("size", ""), values.get("notes", "")
    if text and any(sign.isdigit() for sign in text):
        try:
            size = read_size(text, NumberFormat(), Unit.MM)
            return note, size.mm if size else None
        except Misread:
            pass
    return ", ".join(part for part in (text, note) if part)[:200], None
