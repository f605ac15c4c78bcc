"""Kinship, inbreeding and founders of a pedigree: exact, with uncertain sires, sac-mates and clones."""

from breeding.kinship.animals import Animal
from breeding.kinship.founders import UnknownParent
from breeding.kinship.pedigree import Pedigree
from breeding.kinship.rates import effective_size, inbreeding_rate, individual_rate, size_from_rate

__all__ = [
    "Animal",
    "Pedigree",
    "UnknownParent",
    "effective_size",
    "inbreeding_rate",
    "individual_rate",
    "size_from_rate",
]
