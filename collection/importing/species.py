"""From the species a keeper typed to a taxon on file, or, when the keeper agreed, to a new one."""

from __future__ import annotations

import re

from collection import taxa
from collection.importing.drafts import Draft
from collection.models import Rank, Taxon
from collection.spreadsheets.names import TaxonMatch, normal_name
from collection.stages import Group

_CF, _AFF, _FORM = re.compile(r"\bcf\b"), re.compile(r"\baff\b"), re.compile(r"\bspp?\b|\bspec\b")


class Species:
    """All taxa on file, and those that this file adds."""

    def __init__(self, new_group: str) -> None:
        self.new_group = new_group
        self._index = taxa.name_index()
        self._taxa: dict[int, Taxon] = Taxon.objects.in_bulk()
        self._new: dict[str, Taxon] = {}

    def find(self, draft: Draft, text: str) -> tuple[Taxon | None, str]:
        """The taxon and what stood behind its name, if that is a place; an unknown species refuses the row."""
        match = self._index.match(text)
        if isinstance(match.key, int):
            taxon = self._taxa[match.key]
            if match.kind != "exact":
                draft.say(f"{' '.join(text.split())} {match.sentence}")
            return taxon, "" if _is_authorship(match.rest, taxon) else match.rest
        if self.new_group and match.distance == 0:
            return self._added(draft, text), ""
        draft.refuse(_unknown(text, match))
        return None, ""

    def _added(self, draft: Draft, text: str) -> Taxon:
        name = " ".join(text.split())[:120]
        key = normal_name(name)
        if key not in self._new:
            self._new[key] = Taxon(
                name=name[:1].upper() + name[1:],
                group=self.new_group,
                rank=_rank(key).value,
                source="added by an import",
            )
        draft.create(self._new[key], f"new species {name} ({Group(self.new_group).label})")
        return self._new[key]


def _unknown(text: str, match: TaxonMatch) -> str:
    name = " ".join(text.split())
    remedy = "Mend it, add the species first, or have unknown species added on the page with the columns."
    return f"“{name}” is {match.sentence}{'' if match.suggestion else '.'} {remedy}"


def _rank(name: str) -> Rank:
    if _CF.search(name):
        return Rank.CF
    if _AFF.search(name):
        return Rank.AFF
    return Rank.FORM if _FORM.search(name) else Rank.SPECIES


def _is_authorship(rest: str, taxon: Taxon) -> bool:
    """Whether what stands behind a name is its authority: a year tells, or the taxon's own authors."""
    words = set(re.findall(r"\w+", rest.casefold()))
    return bool(re.search(r"\d{4}", rest)) or words <= set(re.findall(r"\w+", taxon.authorship.casefold()))
