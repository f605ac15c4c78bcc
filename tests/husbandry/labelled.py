"""Labels for tests: what the shipped species would say on them, and rasters of pages as a printer's head sees them."""

import random
import shutil
import subprocess
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from collection import tags
from collection.models import Taxon
from collection.taxon_fixture import read
from husbandry.label_services.contents import hazards_of, name_of
from husbandry.labels.content import DEFAULTS, Content, Kind
from husbandry.labels.papers import PAPERS
from husbandry.labels.run import Job

HOUSE = "HTTP://RACK.LOCAL:8000"
SEXES = ("female", "male", "probably female", "probably male", "unsexed", "evidence clashes", "group")
MM_PER_INCH = 25.4
needs_poppler = pytest.mark.skipif(shutil.which("pdftoppm") is None, reason="poppler-utils is not installed")


def said_of(taxon: Taxon, number: int, rng: random.Random) -> Content:
    """What the label of an animal of this species says, with everything that can be known of it."""
    return Content(
        tag=tags.draw(rng),
        code=f"{taxon.name[0]}-{number:03d}",
        names=(name_of(taxon),),
        common=taxon.common_name,
        sex=SEXES[number % len(SEXES)],
        date="hatched 2025-03-14",
        short_date="born 2025-03",
        hazards=hazards_of([taxon]),
        note=taxon.hazard_note,
        listing="CITES II, source C" if number % 3 == 0 else "",
        price="Price 25.00",
        place="shelf 2, place 14",
    )


def contents(count: int, seed: int = 7) -> list[Content]:
    """As many labels as asked for, going round the shipped species."""
    rng = random.Random(seed)
    taxa = [Taxon(**one.values) for one in read()]
    return [said_of(taxa[n % len(taxa)], n, rng) for n in range(count)]


def ten_longest(seed: int = 7) -> list[Content]:
    """The ten longest names of the shipped species."""
    rng = random.Random(seed)
    taxa = sorted((Taxon(**one.values) for one in read()), key=lambda taxon: -len(taxon.name))[:10]
    return [said_of(taxon, n, rng) for n, taxon in enumerate(taxa)]


def job(kind: Kind = Kind.ENCLOSURE, paper: str = "a4-3x8", **values) -> Job:
    """What a keeper would choose."""
    return Job(kind, PAPERS[paper], HOUSE, **{"parts": DEFAULTS[kind], **values})


Dots = np.ndarray


def raster(pdf: bytes, dpi: int, folder: Path) -> list[Dots]:
    """Pages as a printer's head sees them: True where a dot is inked; nothing smoothed."""
    path = folder / "labels.pdf"
    path.write_bytes(pdf)
    command = ["pdftoppm", "-r", str(dpi), "-mono", "-aa", "no", "-aaVector", "no", str(path), str(folder / "page")]
    subprocess.run(command, check=True)
    found = []
    for page in sorted(folder.glob("page-*.pbm")):
        with Image.open(page) as image:
            found.append(~np.array(image))
        page.unlink()
    return found


def dots(mm: float, dpi: int) -> int:
    """The dot that is nearest to a length."""
    return round(mm * dpi / MM_PER_INCH)


def crop(page: Dots, x: float, y: float, width: float, height: float, dpi: int) -> Dots:
    """A part of a page, in mm from its upper left corner."""
    return page[dots(y, dpi) : dots(y + height, dpi), dots(x, dpi) : dots(x + width, dpi)]
