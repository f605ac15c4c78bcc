"""Pairings from a keeper's list: one row a meeting of two animals on file."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from datetime import timedelta
from typing import Any

from breeding.models import Meeting, Pairing
from breeding.services import check_pair
from collection.dates import FuzzyDate
from collection.importing import kinds
from collection.importing.drafts import Draft, Job
from collection.importing.kinds import Field, Importer
from collection.importing.onfile import OnFile, events_of, same_as
from collection.models import Specimen
from collection.services import Refused
from collection.spreadsheets.cells import Misread, listed, says_nothing, shortened
from collection.spreadsheets.counts import read_yes_no

SAME_PAIRING = timedelta(days=120)  # assumption: meetings of one pair further apart belong to two seasons
Ending = Meeting.Ending
_ENDINGS = {
    Ending.PEACE: listed(
        "peace|peaceful|parted in peace|parted|ok|fine|good|success|friedlich|getrennt|gut|erfolgreich"
    ),
    Ending.ATTACK: listed("attack|attacked|she attacked|fight|both live|angriff|attackiert|biss"),
    Ending.MALE_LOST: listed("male lost|male eaten|eaten|male killed|he was eaten|bock gefressen|männchen gefressen"),
    Ending.FEMALE_LOST: listed("female lost|female killed|weibchen tot"),
    Ending.LEFT: listed("left|left together|still together|cohabiting|zusammen gelassen"),
    Ending.UNKNOWN: listed("unknown|not seen|nicht gesehen"),
}
_NOT_SEEN = listed("not seen|unseen|nobody looked|nicht gesehen|nicht beobachtet|yes|ja|x")


def read_ending(text: str) -> Meeting.Ending:
    """How a meeting ended. Raises Misread."""
    for ending, words in _ENDINGS.items():
        if text.casefold() in words:
            return ending
    raise Misread(f"“{shortened(text)}” is no ending. Write peace, attack, male eaten or left together.")


def read_insertions(text: str) -> int | None:
    """How many insertions were seen; None when nobody could see. Raises Misread."""
    word = text.strip(" .").casefold()
    if says_nothing(word) or word in _NOT_SEEN:
        return None
    if word.isdecimal() and len(word) <= 2:
        return int(word)
    try:
        seen = read_yes_no(word)
    except Misread:
        raise Misread(f"“{shortened(text)}” is no number of insertions. Write 0, 2 or not seen.") from None
    return 0 if seen is False else None


@dataclass
class Season:
    """One pairing with its meetings: those on file, and those that the file tells."""

    pairing: Pairing
    on_file: bool = False
    meetings: list[Meeting] = field(default_factory=list)
    told: list[Meeting] = field(default_factory=list)

    def is_near(self, meeting: Meeting) -> bool:
        """Whether a meeting belongs to this pairing; one without meetings was planned, and takes any."""
        known = [*self.meetings, *self.told]
        if not known:
            return True
        first, last = min(row.earliest for row in known), max(row.latest for row in known)
        return first - SAME_PAIRING <= meeting.earliest and meeting.latest <= last + SAME_PAIRING


@kinds.owner("pairings", "Pairings", 40, code_fields=("female", "male"))
class Pairings(Importer):
    """Meetings of the same two animals within a season are one pairing."""

    fields = (
        Field("female", "Code of the female", required=True, longest=40),
        Field("male", "Code of the male", required=True, longest=40),
        Field("date", "Day", "date", required=True),
        Field("insertions", "Insertions seen", hint="a number, or not seen"),
        Field("outcome", "How it ended"),
        Field("cross_reason", "Why two taxa are paired", longest=200),
        Field("notes", "Notes", longest=300),
    )

    def __init__(self, job: Job) -> None:
        super().__init__(job)
        self.seasons: dict[tuple[int, int], list[Season]] = defaultdict(list)

    def prepare(self, codes: set[str]) -> None:
        """The animals named, with their standing, and the pairings of the females with their meetings."""
        self.on_file = OnFile(codes)
        self.on_file.read_standing()
        found = events_of(Pairing, self.on_file.ids, of="female_id")
        meetings = events_of(Meeting, [row.pk for rows in found.values() for row in rows], of="pairing_id")
        for pairing in (row for rows in found.values() for row in rows):
            if pairing.male_id is not None:
                season = Season(pairing, on_file=True, meetings=meetings[pairing.pk])
                self.seasons[pairing.female_id, pairing.male_id].append(season)

    def row(self, draft: Draft, values: dict[str, Any]) -> None:
        """The meeting, and a pairing for it when none of this season is on file."""
        draft.label = f"{values.get('female', '?')} × {values.get('male', '?')}"
        female = self.on_file.named(draft, values.get("female"))
        male = self.on_file.named(draft, values.get("male"))
        when = self._when(draft, values.get("date"))
        meeting = _meeting(draft, values)
        if draft.problems or female is None or male is None or when is None:
            return
        meeting.earliest, meeting.latest = when.earliest, when.latest
        pairing = Pairing(female=female, male=male, cross_reason=values.get("cross_reason", ""))
        if not self._allowed(draft, pairing, female, male, when):
            return
        draft.specimens = [female, male]
        self._keep(draft, pairing, meeting)

    def _when(self, draft: Draft, when: FuzzyDate | None) -> FuzzyDate | None:
        if when is None:
            if not draft.problems:
                draft.refuse("No day: when were they together? A month will do.")
            return None
        if when.earliest > self.job.today:
            draft.refuse(f"{when} lies in the future.")
        return FuzzyDate(when.earliest, max(when.earliest, min(when.latest, self.job.today)))

    def _allowed(self, draft: Draft, pairing: Pairing, female: Specimen, male: Specimen, when: FuzzyDate) -> bool:
        """The rules for a pairing, and that both were alive and here."""
        if female.pk == male.pk:
            draft.refuse(f"{female.code} stands in both columns.")
            return False
        try:
            check_pair(pairing)
        except Refused as refusal:
            draft.refuse(str(refusal))
        for animal in (female, male):
            self.on_file.refuse_after_end(draft, animal, when.earliest)
        return not draft.problems

    def _keep(self, draft: Draft, pairing: Pairing, meeting: Meeting) -> None:
        seasons = self.seasons[pairing.female_id, pairing.male_id or 0]
        season = next((season for season in seasons if season.is_near(meeting)), None)
        if season is None:
            season = Season(pairing)
            seasons.append(season)
        same_days = {"earliest": meeting.earliest, "latest": meeting.latest}
        if same_as(season.told, **same_days):
            draft.known = True
            draft.say("an earlier row tells of the same meeting")
            return
        season.told.append(meeting)
        known = same_as(season.meetings, **same_days)
        if known is not None:
            self._complete(draft, known, meeting)
            return
        if not season.on_file:
            draft.create(season.pairing)
        meeting.pairing = season.pairing
        draft.create(meeting, f"meeting {meeting.when}, {_insertions(meeting)}, {meeting.get_ending_display()}")

    def _complete(self, draft: Draft, known: Meeting, meeting: Meeting) -> None:
        """The same two on the same day: one meeting, completed by what this row knows more."""
        draft.known = True
        told = {name: getattr(meeting, name) for name in ("insertions_left", "note") if getattr(meeting, name)}
        if meeting.ending != Ending.UNKNOWN.value:
            told["ending"] = meeting.ending
        draft.change(known, told)


def _meeting(draft: Draft, values: dict[str, Any]) -> Meeting:
    """The meeting without its pairing and day. A list does not tell the sides apart: the sum stands under left."""
    meeting = Meeting(note=values.get("notes", ""))
    for name, reads, title in (
        ("insertions", read_insertions, "Insertions"),
        ("outcome", read_ending, "How it ended"),
    ):
        try:
            value = reads(values[name]) if name in values else None
        except Misread as problem:
            draft.refuse(f"{title}: {problem.sentence}")
            continue
        if value is not None:
            setattr(meeting, "insertions_left" if name == "insertions" else "ending", value)
    return meeting


def _insertions(meeting: Meeting) -> str:
    if meeting.insertions is None:
        return "insertions not seen"
    return f"{meeting.insertions} insertion{'s' * (meeting.insertions != 1)}"
