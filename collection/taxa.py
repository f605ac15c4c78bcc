"""Taxa: what a name means, what was listed when, and the shipped defaults, which never overrule the keeper."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from django.db import transaction
from django.db.models import Q
from simple_history.utils import bulk_create_with_history, bulk_update_with_history

from collection import dues, receipts, taxon_fixture
from collection.models import Listing, Specimen, Taxon, TaxonName
from collection.spreadsheets.names import TaxonIndex
from collection.taxon_fixture import Shipped

YEAR = re.compile(r"\b1[7-9]\d\d\b|\b20\d\d\b")
REASON = "shipped defaults"
BLANK = Taxon()
NOT_SHIPPED = {"id", "seeded", "sources"}
MERGED = [field.name for field in Taxon._meta.concrete_fields if field.name not in NOT_SHIPPED]


def name_index() -> TaxonIndex:
    """All names on record, ready for many look-ups; its keys are the taxa's."""
    return TaxonIndex(
        dict(Taxon.objects.values_list("name", "pk")), dict(TaxonName.objects.values_list("name", "taxon_id"))
    )


def resolve(name: str) -> Taxon | None:
    """The taxon that a name means, by its own or another of its names; case, spaces and authorship do not matter."""
    match = name_index().match(name)
    if match.kind not in {"exact", "synonym"} or not isinstance(match.key, int):
        return None
    taxon = Taxon.objects.get(pk=match.key)
    return taxon if _is_authorship(match.rest, taxon) else None


def _is_authorship(rest: str, taxon: Taxon) -> bool:
    """Whether what stands behind a name is its authority: a year tells, or the taxon's own authors."""
    words = set(re.findall(r"\w+", rest.casefold()))
    return bool(YEAR.search(rest)) or words <= set(re.findall(r"\w+", taxon.authorship.casefold()))


def listing_on(taxon: Taxon, day: date) -> list[Listing]:
    """The listings in force on a day, as far as known; one without a date counts as always in force."""
    return list(taxon.listings.filter(Q(since__isnull=True) | Q(since__lte=day)))


def save(taxon: Taxon, other_names: Iterable[str]) -> None:
    """A taxon and its other names; what hangs on its defaults is worked out anew for its animals."""
    wanted = list(other_names)
    with transaction.atomic():
        verb = "Changed" if taxon.pk else "Entered"
        taxon.save()
        taxon.other_names.exclude(name__in=wanted).delete()
        there = set(taxon.other_names.values_list("name", flat=True))
        for name in wanted:
            if name not in there:  # one by one, so that each has its history and goes with an undo
                TaxonName(taxon=taxon, name=name, source="the keeper's own").save()
        _refresh([taxon.pk])
        receipts.note(f"{verb} {taxon.name}")


def _refresh(taxon_ids: list[int]) -> None:
    dues.refresh(Specimen.objects.filter(taxon__in=taxon_ids).values_list("pk", flat=True))


@dataclass
class Seeding:
    """What a seeding did; `kept` counts values of the keeper's own that the fixture would have changed."""

    new: int = 0
    changed: int = 0
    kept: int = 0
    unchanged: bool = False


def seed(folder: Path = taxon_fixture.FOLDER) -> Seeding:
    """Bring the shipped taxa in or up to date. What the keeper changed stays; what the keeper never touched follows."""
    mark, rows = taxon_fixture.mark(folder)
    if Taxon.objects.filter(seeded__fixture=mark).count() == rows:
        return Seeding(unchanged=True)
    with transaction.atomic():
        return _Seeder(mark).run(taxon_fixture.read(folder))


def merged(ours: Mapping[str, Any], base: Mapping[str, Any], theirs: Mapping[str, Any]) -> tuple[dict[str, Any], int]:
    """Three into one: theirs where ours is still the base, else ours; and how often ours stood against a change."""
    result: dict[str, Any] = {}
    kept = 0
    for key in {**ours, **base, **theirs}:
        mine, was, new = ours.get(key), base.get(key), theirs.get(key)
        if mine == was:
            value = new
        else:
            value = mine
            kept += new not in (mine, was)
        if value is not None or key in theirs:
            result[key] = value
    return result, kept


class _Seeder:
    """One run over all shipped taxa, with a handful of queries whatever their number."""

    def __init__(self, mark: str) -> None:
        self.mark = mark
        self.report = Seeding()
        taxa = list(Taxon.objects.prefetch_related("other_names", "listings"))
        self.by_shipped_name = {t.seeded["values"]["name"]: t for t in taxa if t.seeded}
        self.by_name = {taxon.name: taxon for taxon in taxa}
        self.used_names: set[str] = set()
        self.new: list[Taxon] = []
        self.changed: list[Taxon] = []
        self.moved: list[int] = []
        self.pairs: list[tuple[Taxon, Shipped, dict[str, Any]]] = []
        self.there = {taxon.pk for taxon in taxa}

    def run(self, shipped: list[Shipped]) -> Seeding:
        """Merge every taxon, then write in bulk."""
        for one in shipped:
            self._merge(one)
        bulk_create_with_history(self.new, Taxon, default_change_reason=REASON)
        bulk_update_with_history(self.changed, Taxon, [*MERGED, "sources", "seeded"], default_change_reason=REASON)
        self.used_names.update(Taxon.objects.values_list("name", flat=True))
        self.used_names.update(TaxonName.objects.values_list("name", flat=True))
        for taxon, one, base in self.pairs:
            self._merge_names(taxon, one, base)
        self._merge_listings()
        _refresh(self.moved)
        return self.report

    def _known(self, one: Shipped) -> Taxon | None:
        """The row of a shipped taxon: by its name as once shipped, by its name now, or renamed since the last time."""
        known = self.by_shipped_name.get(one.name) or self.by_name.get(one.name)
        return known or next((self.by_shipped_name[n] for n in one.names if n in self.by_shipped_name), None)

    def _merge(self, one: Shipped) -> None:
        taxon = self._known(one)
        base: dict[str, Any] = taxon.seeded if taxon else {}
        seeded = {
            "fixture": self.mark,
            "values": one.values,
            "sources": one.sources,
            "names": one.names,
            "listings": one.listings,
        }
        if taxon is None:
            taxon = Taxon(**one.values, sources=one.sources, seeded=seeded)
            self.new.append(taxon)
            self.report.new += 1
        else:
            self._merge_fields(taxon, one, base)
            taxon.seeded = seeded
            self.changed.append(taxon)
        self.pairs.append((taxon, one, base))

    def _merge_fields(self, taxon: Taxon, one: Shipped, base: dict[str, Any]) -> None:
        ours = {name: getattr(taxon, name) for name in MERGED}
        blank = {name: getattr(BLANK, name) for name in MERGED}
        values, kept = merged(ours, {**blank, **base.get("values", {})}, one.values)
        said, _ = merged(taxon.sources, base.get("sources", {}), one.sources)
        sources = {figure: source for figure, source in said.items() if source}
        self.report.kept += kept
        self.report.changed += (values, sources) != (ours, taxon.sources)
        if values != ours:
            self.moved.append(taxon.pk)
        taxon.sources = sources
        for name, value in values.items():
            setattr(taxon, name, value)

    def _merge_names(self, taxon: Taxon, one: Shipped, base: dict[str, Any]) -> None:
        rows = {row.name: row for row in taxon.other_names.all()} if taxon.pk in self.there else {}
        ours = {name: {"kind": row.kind, "source": row.source} for name, row in rows.items()}
        wanted, _ = merged(ours, base.get("names", {}), one.names)
        for name, row in rows.items():
            if wanted.get(name) != ours[name]:
                row.delete()
                self.used_names.discard(name)
        free = {name: said for name, said in wanted.items() if said and name not in self.used_names}
        TaxonName.objects.bulk_create([TaxonName(taxon=taxon, name=name, **said) for name, said in free.items()])
        self.used_names.update(free)

    def _merge_listings(self) -> None:
        new = []
        for taxon, one, base in self.pairs:
            there = taxon.listings.all() if taxon.pk in self.there else []
            rows = {f"{row.scheme}|{row.entry}": row for row in there}
            ours = {key: _plain(row) for key, row in rows.items()}
            wanted, _ = merged(ours, base.get("listings", {}), one.listings)
            for key, row in rows.items():
                if wanted.get(key) != ours[key]:
                    row.delete()
            new += [_listing(taxon, key, said) for key, said in wanted.items() if said and said != ours.get(key)]
        bulk_create_with_history(new, Listing, default_change_reason=REASON)


def _plain(row: Listing) -> dict[str, str]:
    return {"since": row.since.isoformat() if row.since else "", "as_of": row.as_of.isoformat(), "note": row.note}


def _listing(taxon: Taxon, key: str, said: Mapping[str, str]) -> Listing:
    scheme, _, entry = key.partition("|")
    since = date.fromisoformat(said["since"]) if said["since"] else None
    as_of = date.fromisoformat(said["as_of"])
    return Listing(taxon=taxon, scheme=scheme, entry=entry, since=since, as_of=as_of, note=said["note"])
