"""Sexing: words, likelihoods, how evidence is weighed, what a next look could tell, and how many make a pair."""

from collection.sexing.counting import COUNTED, finding_of_count
from collection.sexing.likelihoods import BASIS, DEFAULT, Likelihoods, method_of, say_row, speaking
from collection.sexing.looking import (
    GUIDES,
    Guide,
    NextLook,
    Prospect,
    is_settled,
    look_for,
    methods_for,
    methods_of_taxon,
    next_looks,
)
from collection.sexing.pairs import (
    animals_for,
    animals_for_pair,
    chance_among,
    chance_of,
    chance_of_draw,
    draws_for_pair,
)
from collection.sexing.tapping import Cell, cells_of, tapped_by
from collection.sexing.telling import tell
from collection.sexing.terms import NO_EPIGYNE, NO_HOOKS, NO_SPERMATHECAE, OVERLAP, Finding, Method, Verdict
from collection.sexing.weighing import Observation, Reason, SexVerdict, say_weight, update, weigh

__all__ = [
    "BASIS",
    "COUNTED",
    "DEFAULT",
    "GUIDES",
    "NO_EPIGYNE",
    "NO_HOOKS",
    "NO_SPERMATHECAE",
    "OVERLAP",
    "Cell",
    "Finding",
    "Guide",
    "Likelihoods",
    "Method",
    "NextLook",
    "Observation",
    "Prospect",
    "Reason",
    "SexVerdict",
    "Verdict",
    "animals_for",
    "animals_for_pair",
    "cells_of",
    "chance_among",
    "chance_of",
    "chance_of_draw",
    "draws_for_pair",
    "finding_of_count",
    "is_settled",
    "look_for",
    "method_of",
    "methods_for",
    "methods_of_taxon",
    "next_looks",
    "say_row",
    "say_weight",
    "speaking",
    "tapped_by",
    "tell",
    "update",
    "weigh",
]
