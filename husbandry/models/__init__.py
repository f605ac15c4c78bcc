"""Where animals stand and what is done for them."""

from husbandry.models.care import Feeding, FeedRhythm, Hold, Upkeep, UpkeepRhythm
from husbandry.models.climate import (
    Calibration,
    ClimateAlarm,
    Device,
    Posting,
    Reading,
    ReadingBatch,
    Refusal,
    Sensor,
    SensorState,
)
from husbandry.models.feeders import FeederEntry, FeederStock
from husbandry.models.handover import EmergencyCard
from husbandry.models.label import LabelAddress, LabelPrint, PrintedLabel, Printer
from husbandry.models.place import Enclosure, Place, Stay
from husbandry.models.walk import Tap, Walk
from husbandry.models.watch import ExposureCheck

__all__ = [
    "Calibration",
    "ClimateAlarm",
    "Device",
    "EmergencyCard",
    "Enclosure",
    "ExposureCheck",
    "FeedRhythm",
    "FeederEntry",
    "FeederStock",
    "Feeding",
    "Hold",
    "LabelAddress",
    "LabelPrint",
    "Place",
    "Posting",
    "PrintedLabel",
    "Printer",
    "Reading",
    "ReadingBatch",
    "Refusal",
    "Sensor",
    "SensorState",
    "Stay",
    "Tap",
    "Upkeep",
    "UpkeepRhythm",
    "Walk",
]
