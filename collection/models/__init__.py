"""The bottom app's records."""

from collection.models.contact import Arrival, Contact
from collection.models.events import (
    Death,
    DeathCause,
    Departure,
    GroupCount,
    HeadLoss,
    Measurement,
    Note,
    SexEvidence,
)
from collection.models.forecast import Forecast, ForecastWidth
from collection.models.health import HealthEntry, HealthIssue, Quarantine, QuarantineCheck
from collection.models.house import House
from collection.models.imports import ImportBatch, ImportMapping
from collection.models.ledger import Due, Receipt
from collection.models.likelihoods import SexLikelihood
from collection.models.molts import Molt, MoltSign, Numbering, Went
from collection.models.photo import Photo
from collection.models.specimen import How, Origin, Specimen, SpecimenKind, Standing, Status
from collection.models.taxon import Listing, Rank, SizeMeasure, Taxon, TaxonName

__all__ = [
    "Arrival",
    "Contact",
    "Death",
    "DeathCause",
    "Departure",
    "Due",
    "Forecast",
    "ForecastWidth",
    "GroupCount",
    "HeadLoss",
    "HealthEntry",
    "HealthIssue",
    "House",
    "How",
    "ImportBatch",
    "ImportMapping",
    "Listing",
    "Measurement",
    "Molt",
    "MoltSign",
    "Note",
    "Numbering",
    "Origin",
    "Photo",
    "Quarantine",
    "QuarantineCheck",
    "Rank",
    "Receipt",
    "SexEvidence",
    "SexLikelihood",
    "SizeMeasure",
    "Specimen",
    "SpecimenKind",
    "Standing",
    "Status",
    "Taxon",
    "TaxonName",
    "Went",
]
