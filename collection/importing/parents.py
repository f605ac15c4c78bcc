"""Dam, sire and sac of an animal from a keeper's list, with the rules that its page keeps as well."""

from __future__ import annotations

from typing import Any

from collection import descents
from collection.dates import FuzzyDate
from collection.importing import kinds
from collection.importing.drafts import Draft, Job
from collection.importing.kinds import Field, Importer
from collection.importing.onfile import OnFile
from collection.models import Specimen
from collection.sexing import Finding
from collection.spreadsheets.cells import says_nothing

ROLES = ("dam", "sire")
WRONG_SEX = {"dam": (Finding.MALE.value, "male"), "sire": (Finding.FEMALE.value, "female")}


@kinds.adds_to("animals")
class Parents(Importer):
    """Links animals by code. A parent stands on file or in another row, which is taken before this one."""

    fields = (
        Field("dam", "Dam", longest=40, hint="her code"),
        Field("sire", "Sire", longest=40, hint="his code"),
        Field("clutch", "Sac", longest=40, hint="the same for all out of one sac"),
        Field("hybrid", "Hybrid", "yes_no", hint="for ever"),
    )

    def __init__(self, job: Job) -> None:
        super().__init__(job)
        self.asked = bool(job.fields & {"dam", "sire", "clutch", "hybrid"})
        self.above: dict[str, Specimen] = {}  # animals of earlier rows, by code
        self.sexes: dict[str, str] = {}  # what those rows say of their sex
        self.linked: dict[str, Specimen] = {}  # the parents of the row at hand

    def prepare(self, codes: set[str]) -> None:
        """The animals that the file names, and who comes from whom among all on file."""
        if not self.asked:
            return
        self.on_file = OnFile(codes)
        self.on_file.read_standing()
        rows = list(Specimen.objects.values_list("pk", "code", "dam_id", "sire_id"))
        self.codes = {pk: code for pk, code, _, _ in rows}
        self.parents = {
            code.casefold(): {
                role: self.codes[pk].casefold() for role, pk in zip(ROLES, (dam, sire), strict=True) if pk is not None
            }
            for _, code, dam, sire in rows
        }

    def row(self, draft: Draft, values: dict[str, Any]) -> None:
        """Link the animal of the row; what cannot be is refused."""
        if not self.asked or draft.problems or not draft.specimens:
            return
        specimen = draft.specimens[0]
        key, self.linked = specimen.code.casefold(), {}
        named = {role: values[role] for role in ROLES if role in values and not says_nothing(values[role])}
        if len({code.casefold() for code in named.values()}) < len(named):
            draft.refuse(f"{named['dam']} is named as dam and as sire.")
        for role, code in named.items():
            parent = self._parent(draft, role, code, key)
            if parent is not None and not self._refused(draft, role, parent, specimen):
                self._link(draft, role, parent, specimen)
                self.linked[role] = parent
        if "clutch" in values:
            self._set(draft, specimen, "clutch", specimen.clutch, values["clutch"])
        if draft.problems:
            return
        self._mark(draft, specimen, values.get("hybrid"))
        self.above[key] = specimen
        if "sex" in values and values["sex"].finding:
            self.sexes[key] = values["sex"].finding

    def _mark(self, draft: Draft, specimen: Specimen, told: bool | None) -> None:
        """A hybrid by the list or by its parents is one for ever; a list that says no takes no mark away."""
        if specimen.hybrid:
            if told is False:
                draft.say("stays marked as a hybrid")
            return
        linked = [self.linked[role] for role in ROLES if role in self.linked]
        if not told and not descents.crossed(specimen, *linked):
            return
        specimen.hybrid = True
        draft.say("hybrid" if told else "hybrid: its parents are of two taxa")
        if not any(specimen is record for record in draft.creates):
            draft.updates.append((specimen, ("hybrid",)))

    def _parent(self, draft: Draft, role: str, code: str, key: str) -> Specimen | None:
        wanted = code.casefold()
        if wanted == key:
            draft.refuse(f"{code} is named as its own {role}.")
            return None
        if wanted in self.circle and key in self.circle:
            draft.refuse(f"By this list {code} and {draft.specimens[0].code} descend from each other.")
            return None
        found = self.on_file.find(code) or self.above.get(wanted)
        if found is None and wanted in self.rows:
            draft.say(f"{role} {code}: its own row is refused, so the two are not linked")
        elif found is None:
            draft.refuse(f"No animal has the code {code}, named as the {role}. Add it, or leave this empty.")
        return found

    def _refused(self, draft: Draft, role: str, parent: Specimen, specimen: Specimen) -> bool:
        """A male dam, a parent not older than its young, a circle of descent."""
        before = len(draft.problems)
        finding, word = WRONG_SEX[role]
        key = parent.code.casefold()
        known = parent.standing if parent.pk is not None else None
        on_file = known is not None and (known.probably_male if role == "dam" else known.probably_female)
        if on_file or (known is None and self.sexes.get(key) == finding):
            draft.refuse(f"{parent.code} is a {word}, and cannot be the {role}.")
        if _not_older(parent.hatched, specimen.hatched):
            draft.refuse(f"{parent.code} hatched {parent.hatched}: not before its young.")
        if self._descends(key, specimen.code.casefold()):
            draft.refuse(f"{parent.code} descends from {specimen.code}; nobody is its own ancestor.")
        return len(draft.problems) > before

    def _descends(self, key: str, ancestor: str) -> bool:
        seen: set[str] = set()
        waiting = [key]
        while waiting:
            one = waiting.pop()
            if one == ancestor:
                return True
            if one not in seen:
                seen.add(one)
                waiting += self.parents.get(one, {}).values()
        return False

    def _link(self, draft: Draft, role: str, parent: Specimen, specimen: Specimen) -> None:
        of_young = self.parents.setdefault(specimen.code.casefold(), {})
        other = next((code for kind, code in of_young.items() if kind != role), None)
        if other == parent.code.casefold():
            draft.refuse(f"{parent.code} is the other parent already.")
            return
        of_young[role] = parent.code.casefold()
        if any(specimen is record for record in draft.creates):
            setattr(specimen, role, parent)
            draft.say(f"{role} {parent.code}")
        elif parent.pk not in self.codes or getattr(specimen, f"{role}_id") != parent.pk:
            before = self.codes.get(getattr(specimen, f"{role}_id"), "nothing")
            draft.say(f"{role}: {before} → {parent.code}")
            setattr(specimen, role, parent)
            draft.updates.append((specimen, (role,)))

    def _set(self, draft: Draft, specimen: Specimen, name: str, before: str, value: str) -> None:
        if any(specimen is record for record in draft.creates):
            setattr(specimen, name, value)
            draft.say(f"sac {value}")
        elif before != value:
            draft.change(specimen, {name: value})


def _not_older(parent: FuzzyDate | None, young: FuzzyDate | None) -> bool:
    return bool(parent and young and parent.earliest >= young.latest)
