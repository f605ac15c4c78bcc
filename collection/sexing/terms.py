"""What is looked at, what is seen, and what it comes to: the words of sexing."""

from collection.stages import Term


class Method(Term):
    """What was looked at."""

    EXUVIA = "exuvia"
    VENTRAL = "ventral", "from below (epigastric furrow)"
    MATURE_MALE = "mature_male", "bulbs or hooks"
    PALPS = "palps", "swollen palps"
    SAC = "sac", "laid or gave birth"
    PECTINES = "pectines"
    PAPILLAE = "papillae", "genital papillae"
    ATRIUM = "atrium", "bars inside the genital atrium"
    SEGMENTS = "segments", "segments counted from below"
    EPIGYNE = "epigyne"
    GONOPODS = "gonopods"
    DIMORPHISM = "dimorphism", "colour or shape"
    SELLER = "seller", "seller's word"
    RECORD = "record", "earlier record"


class Finding(Term):
    """What it looked like."""

    FEMALE = "female"
    MALE = "male"
    UNCLEAR = "unclear"


class Verdict(Term):
    """What all evidence comes to: equal to the stored word and to the one a keeper reads, "probably female"."""

    FEMALE = "female"
    MALE = "male"
    PROBABLY_FEMALE = "probably_female"
    PROBABLY_MALE = "probably_male"
    UNSEXED = "unsexed"

    __hash__ = Term.__hash__

    def __eq__(self, other: object) -> bool:
        """Whether it is this verdict, in either spelling."""
        return str.__eq__(self, other) is True or other == self.label

    def __ne__(self, other: object) -> bool:
        """The opposite; text has one of its own, which knows one spelling."""
        return not self == other


# Structures without which a look says less, as the taxon's exceptions name them.
NO_HOOKS, NO_SPERMATHECAE, NO_EPIGYNE, OVERLAP = "no hooks", "no spermathecae", "no epigyne", "pectines overlap"
