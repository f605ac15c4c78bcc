"""Writes of the feeders' books."""

from __future__ import annotations

from collections.abc import Sequence

from django.db import transaction
from django.utils import timezone

from collection import receipts
from collection.services import Refused
from husbandry import feeder_outlook
from husbandry.feeder_ledger import EntryKind
from husbandry.models import FeederEntry, FeederStock


def _forget() -> None:
    """The outlook no longer holds, nor one that somebody works out before this is stored."""
    feeder_outlook.forget()
    transaction.on_commit(feeder_outlook.forget)


def save_stock(stock: FeederStock) -> FeederStock:
    """A feeder that is kept, under a name and size of its own."""
    stock.kind = " ".join(stock.kind.split())
    same = FeederStock.objects.filter(kind__iexact=stock.kind, mm=stock.mm).exclude(pk=stock.pk).first()
    if same is not None:
        raise Refused(f"{same} has its book already.", "kind")
    with transaction.atomic():
        stock.save()
        receipts.note(f"Feeder {stock}")
    _forget()
    return stock


def record_entry(entry: FeederEntry) -> FeederEntry:
    """One entry in the book of a feeder; nothing lies in the future, and a culture can give only where one is named."""
    if entry.on > timezone.localdate():
        raise Refused("This day lies in the future. Log it when it has happened.", "on")
    if entry.kind == EntryKind.CULTURE.value and entry.stock.culture is None:
        raise Refused(f"No culture is named for {entry.stock}. Name it under “Change” first.", "kind")
    with transaction.atomic():
        entry.save()
        receipts.note(f"{entry.stock}, {entry}")
    _forget()
    return entry


@receipts.mends("husbandry.feederstock", "husbandry.feederentry")
def forget_outlook(rows: Sequence[int]) -> list[int]:
    """What was worked out of a book that was taken back holds no more."""
    _forget()
    return []


def remove_entry(entry: FeederEntry) -> None:
    """Take an entry out of the book; its history stays."""
    with transaction.atomic():
        entry.delete()
        receipts.note(f"Took out of the book: {entry.stock}, {entry}")
    _forget()
