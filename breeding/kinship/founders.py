"""Founders that nobody knows."""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import dataclass


@dataclass(frozen=True)
class UnknownParent:
    """A parent that nobody knows counts as a founder of its own: one for an animal, or one for a whole sac."""

    of: Hashable  # the animal, or the clutch
    role: str  # "dam" or "sire"
    of_clutch: bool = False

    def __str__(self) -> str:
        """In words."""
        return f"unknown {self.role} of {'the sac ' if self.of_clutch else ''}{self.of}"
