"""The same facts by hand-written SQL on a bare sqlite3 connection: the floor that the pages are measured against."""

from __future__ import annotations

import sqlite3
import uuid
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path
from typing import Any

ANIMAL = (
    "s.id, s.code, s.name, s.kind, t.name, t.authorship, t.venom_class, t.hair_class, st.status, st.sex, "
    "st.sex_probability, st.sex_conflict, st.sex_reason, st.stage, st.size_mm, st.last_molt, st.head_count"
)
OF_ANIMAL = (
    "collection_specimen s JOIN collection_taxon t ON t.id = s.taxon_id "
    "JOIN collection_standing st ON st.specimen_id = s.id"
)
STANDS = (
    "LEFT JOIN husbandry_stay y ON y.specimen_id = s.id AND y.ends IS NULL "
    "LEFT JOIN husbandry_enclosure e ON e.id = y.enclosure_id LEFT JOIN husbandry_place p ON p.id = e.place_id "
    "LEFT JOIN husbandry_place r ON r.id = p.parent_id"
)
LISTED = "d.kind IN ('feed', 'hardening', 'water', 'evidence')"
WANTED = "d.wanted_on <= :today AND (d.ends_on IS NULL OR d.ends_on >= :today)"
ON_PAGE = (
    f"SELECT d.specimen_id FROM collection_due d LEFT JOIN husbandry_stay y ON y.specimen_id = d.specimen_id "
    "AND y.ends IS NULL LEFT JOIN husbandry_enclosure e ON e.id = y.enclosure_id LEFT JOIN husbandry_place p "
    f"ON p.id = e.place_id WHERE {LISTED} AND {WANTED} AND d.due_on <= :today GROUP BY d.specimen_id "
    "ORDER BY p.walk_key IS NULL, p.walk_key, e.position, d.specimen_id LIMIT 40"
)
DASHBOARD = (
    f"SELECT {ANIMAL}, d.kind, d.wanted_on, d.due_on, d.facts, e.code, e.position, p.name, r.name FROM {OF_ANIMAL} "
    f"JOIN ({ON_PAGE}) q ON q.specimen_id = s.id JOIN collection_due d ON d.specimen_id = s.id {STANDS} "
    f"WHERE {LISTED} AND {WANTED}",
    "SELECT count(DISTINCT specimen_id), count(DISTINCT CASE WHEN due_on < :today THEN specimen_id END), "
    "count(DISTINCT CASE WHEN due_on = :today THEN specimen_id END), "
    "count(DISTINCT CASE WHEN due_on IS NULL OR due_on > :today THEN specimen_id END) "
    f"FROM collection_due d WHERE {LISTED} AND {WANTED}",
    f"SELECT d.kind, count(*) FROM collection_due d WHERE d.kind IN ('sac', 'molt') AND {WANTED} GROUP BY d.kind",
    "SELECT st.sex, s.kind <> 'single', count(*) FROM collection_standing st JOIN collection_specimen s "
    "ON s.id = st.specimen_id WHERE st.status IN ('here', 'loan_in') GROUP BY 1, 2",
    "SELECT (SELECT count(*) FROM collection_molt WHERE earliest >= :month), (SELECT count(*) FROM collection_specimen "
    "WHERE acquired_earliest >= :month), (SELECT count(*) FROM collection_death WHERE earliest >= :month), "
    "(SELECT count(*) FROM collection_departure WHERE \"on\" >= :month AND kind = 'passed_on')",
    f"SELECT {ANIMAL}, d.wanted_on, d.due_on, d.ends_on, d.facts FROM {OF_ANIMAL} "
    f"JOIN collection_due d ON d.specimen_id = s.id WHERE d.kind = 'sac' AND {WANTED} "
    "ORDER BY d.due_on, d.specimen_id LIMIT 12",
)
REGISTER_IDS = (
    "SELECT s.id FROM collection_specimen s CROSS JOIN collection_standing st ON st.specimen_id = s.id "
    "WHERE st.status IN ('here', 'loan_in') ORDER BY s.code LIMIT 50 OFFSET :offset"
)
REGISTER_PAGE = (
    f'SELECT {ANIMAL}, e.code, e.position, p.name, r.name, (SELECT max(f."on") FROM husbandry_feeding f '
    f"WHERE f.specimen_id = s.id AND f.outcome = 'taken') FROM {OF_ANIMAL} JOIN ({REGISTER_IDS}) q ON q.id = s.id "
    f"{STANDS} ORDER BY s.code"
)
REGISTER = (
    REGISTER_PAGE,
    "SELECT count(*) FROM collection_standing WHERE status IN ('here', 'loan_in')",
    "SELECT id, name, walk_key FROM husbandry_place ORDER BY walk_key, id",
)
ANIMAL_PAGE = (
    f"SELECT {ANIMAL}, t.hazard_note, e.code, e.position, p.name, r.name FROM {OF_ANIMAL} {STANDS} WHERE s.id = :id",
    f"SELECT kind, wanted_on, due_on, ends_on, facts FROM collection_due d WHERE specimen_id = :id AND {WANTED}",
    "SELECT * FROM collection_molt WHERE specimen_id = :id ORDER BY earliest DESC, id DESC",
    "SELECT * FROM collection_sexevidence WHERE specimen_id = :id ORDER BY earliest, id",
    'SELECT * FROM husbandry_feeding WHERE specimen_id = :id AND "on" >= :year ORDER BY "on" DESC, id DESC',
    "SELECT * FROM husbandry_stay y JOIN husbandry_enclosure e ON e.id = y.enclosure_id WHERE y.specimen_id = :id",
    "SELECT u.* FROM husbandry_upkeep u JOIN husbandry_stay y ON y.enclosure_id = u.enclosure_id AND y.ends IS NULL "
    'WHERE y.specimen_id = :id ORDER BY u."on" DESC LIMIT 5',
    "SELECT * FROM husbandry_hold WHERE specimen_id = :id",
    "SELECT * FROM husbandry_feedrhythm WHERE specimen_id = :id",
    "SELECT * FROM breeding_pairing WHERE female_id = :id OR male_id = :id",
    "SELECT * FROM breeding_eggsac WHERE female_id = :id",
    "SELECT * FROM breeding_sign WHERE female_id = :id",
    "SELECT * FROM collection_note WHERE specimen_id = :id",
    "SELECT * FROM collection_measurement WHERE specimen_id = :id",
    "SELECT * FROM collection_groupcount WHERE specimen_id = :id",
    "SELECT l.* FROM collection_listing l JOIN collection_specimen s ON s.taxon_id = l.taxon_id WHERE s.id = :id",
    "SELECT id, code FROM collection_specimen WHERE dam_id = :id OR sire_id = :id LIMIT 12",
)
COLUMNS = '"on", prey, prey_mm, number, outcome, note, logged_at, specimen_id'
FEED = (
    f"INSERT INTO husbandry_feeding ({COLUMNS}) VALUES (:today, 'cricket', 12, 1, 'taken', '', :now, :id)",
    f"INSERT INTO husbandry_historicalfeeding (id, {COLUMNS}, history_date, history_type) "
    f"SELECT id, {COLUMNS}, :now, '+' FROM husbandry_feeding WHERE id = last_insert_rowid()",
    "UPDATE collection_due SET wanted_on = :next, due_on = :next WHERE specimen_id = :id AND kind = 'feed'",
    "INSERT INTO collection_receipt (key, at, label, location, entries, specimens) "
    "VALUES (:key, :now, 'Taken', '/', '[]', '[]')",
)


@dataclass
class Bare:
    """A plain connection with the durability that the program uses."""

    path: Path
    today: date

    def __post_init__(self) -> None:
        """Connect as the program does."""
        self.connection = sqlite3.connect(self.path, isolation_level=None, timeout=20)
        for pragma in ("journal_mode=WAL", "synchronous=FULL", "cache_size=-8000"):
            self.connection.execute(f"PRAGMA {pragma}")

    def facts(self, statements: Sequence[str], **values: Any) -> list[list[Any]]:
        """All rows of each statement."""
        month, year = self.today.replace(day=1), self.today - timedelta(days=365)
        given = {"today": str(self.today), "month": str(month), "year": str(year), **values}
        return [self.connection.execute(sql, given).fetchall() for sql in statements]

    def feed(self, pk: int) -> None:
        """One meal with its history, receipt and next date, on the disk when this returns."""
        later = self.today + timedelta(days=14)
        values = {"today": str(self.today), "now": f"{self.today} 12:00:00", "next": str(later), "id": pk}
        self.connection.execute("BEGIN IMMEDIATE")
        for sql in FEED:
            self.connection.execute(sql, {**values, "key": uuid.uuid4().hex})
        self.connection.execute("COMMIT")
