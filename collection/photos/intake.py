"""A picture comes in: judged by its header, decoded once, and written anew with nothing in it but its pixels.

`take` gets the bytes of one file and believes neither its name nor its type. It reads JPEG, PNG, WebP and HEIC of at
most 25 MiB and 60 million pixels (fewer of a kind that would fill the memory), and answers with a JPEG of at most 2048
pixels a side, a WebP of at most 400, and the day on which the camera says it was taken. Position, camera, serial
numbers, comments and whatever hung behind the picture are gone, since only pixels are carried over. Anything else
raises `Refused` with a sentence for the keeper.

Pillow is imported when the first picture comes: a server without pictures does without it.
"""

from __future__ import annotations

import hashlib
import io
import re
import threading
import warnings
from dataclasses import dataclass
from datetime import date
from functools import cache
from typing import TYPE_CHECKING, Any

from collection.photos import sniffing

if TYPE_CHECKING:
    from PIL import Image

MAX_BYTES = 25 * 1024 * 1024
MAX_PIXELS = 60_000_000
# Decoded whole and never by a camera of that size; measured, 60 million pixels of these took 550 and 950 MB of memory.
FEWER_PIXELS = {"PNG": 30_000_000, "WEBP": 20_000_000}
SIDE, THUMB_SIDE = 2048, 400
QUALITY, THUMB_QUALITY = 85, 75
FORMATS: tuple[str, ...] = ("JPEG", "PNG", "WEBP")
READABLE = "JPEG, PNG, WebP or HEIC"
DAMAGED = "This picture is damaged, or its end is missing. Send it again."
FIRST_DAY = date(1990, 1, 1)  # before it there was no Exif; a camera without a clock says 1970 or 1980
EXIF_IFD, TAKEN, DIGITISED = 0x8769, 0x9003, 0x9004  # Exif 2.32 (CIPA DC-008), tables 4 and 7
EXIF_DAY = re.compile(r"(\d{4}):(\d\d):(\d\d)\b")
MAX_PROFILE = 1 << 20
PAPER = (255, 255, 255)  # what shows through where a picture is transparent

_one_at_a_time = threading.Lock()  # a decoded picture takes up to 240 MB; a phone sends twenty


class Refused(ValueError):
    """Says in a sentence why a file is not taken, to stand beside its name."""


@dataclass(frozen=True)
class Picture:
    """A picture as it is kept: two files, the size of the larger in pixels, and the camera's day if it tells one."""

    large: bytes
    small: bytes
    width: int
    height: int
    taken: date | None

    @property
    def sha256(self) -> str:
        """The digest of the larger file, in hexadecimal."""
        return hashlib.sha256(self.large).hexdigest()


def take(data: bytes) -> Picture:
    """Check a file and make of it what is kept. Raises Refused with a sentence."""
    refuse_by_size(len(data))
    with _one_at_a_time:
        image = _opened(data)
        taken = _day_taken(image)
        try:
            upright = _in_true_colour(_small_and_upright(image))
        except Exception as problem:  # a decoder of foreign bytes: HEIC's, for one, raises RuntimeError
            raise Refused(DAMAGED) from problem
        return _written(upright, taken)


def refuse_by_size(size: int) -> None:
    """Refuse what is empty or too large, by its number of bytes, before any of it is read."""
    if size == 0:
        raise Refused("This file is empty.")
    if size > MAX_BYTES:
        raise Refused(f"This file is larger than {MAX_BYTES // 1024**2} MB. Send it smaller.")


def _opened(data: bytes) -> Image.Image:
    """Read the header alone; nothing is decoded of what is refused here."""
    from PIL import Image, UnidentifiedImageError

    formats = _learn_heif() if sniffing.is_heif(data) else FORMATS
    _take_bombs_seriously()
    try:
        image = Image.open(io.BytesIO(data), formats=formats)
    except (Image.DecompressionBombWarning, Image.DecompressionBombError):
        raise Refused(_too_many(MAX_PIXELS)) from None
    except UnidentifiedImageError:
        raise Refused(_not_readable(data)) from None
    except Exception:  # as above
        raise Refused(DAMAGED) from None
    most = FEWER_PIXELS.get(image.format or "", MAX_PIXELS)
    if image.width * image.height > most:
        raise Refused(_too_many(most))
    return image


@cache
def _take_bombs_seriously() -> None:
    """For the whole process and for good: catching warnings for a while is not safe beside other threads."""
    from PIL import Image

    warnings.simplefilter("error", Image.DecompressionBombWarning)


def _too_many(most: int) -> str:
    return f"This picture has more than {most // 10**6} million pixels. Send it smaller."


def _not_readable(data: bytes) -> str:
    what = sniffing.named(data)
    if sniffing.is_readable_kind(data):
        return DAMAGED
    return f"This is {what}. Send {READABLE}." if what else f"This is not a picture that can be read. Send {READABLE}."


def _learn_heif() -> tuple[str, ...]:
    """Make HEIC known to Pillow. Raises Refused where its package is missing, as on a system it has no wheel for."""
    try:
        import pi_heif
    except ImportError:
        raise Refused("HEIC pictures cannot be read on this computer. Send it as JPEG.") from None
    pi_heif.register_heif_opener()
    return ("HEIF",)


def _day_taken(image: Image.Image) -> date | None:
    """The day of DateTimeOriginal, else of DateTimeDigitized; what a broken block of Exif holds is nobody's loss."""
    try:
        block = image.getexif().get_ifd(EXIF_IFD)
        found = EXIF_DAY.match(str(block.get(TAKEN) or block.get(DIGITISED) or ""))
        day = date(*map(int, found.groups())) if found else None
    except Exception:  # a parser of foreign bytes: whatever it stumbles over, the picture itself may be sound
        return None
    return day if day and day >= FIRST_DAY else None


def _small_and_upright(image: Image.Image) -> Image.Image:
    """At most 2048 pixels a side, turned as the camera was held. Shrunk first: a turned copy of the whole is saved."""
    from PIL import Image, ImageOps

    image.draft("RGB", (SIDE, SIDE))  # JPEG decodes at a half, a quarter or an eighth by itself
    image.load()
    exif_and_profile = image.info
    if image.mode.startswith("I"):  # 16 bits of grey
        image = image.convert("I").point(lambda level: level * (1 / 256)).convert("L")
    elif image.mode in {"P", "PA", "1"}:
        image = image.convert("RGBA" if "transparency" in image.info or image.mode == "PA" else "RGB")
    image.info = exif_and_profile
    image.thumbnail((SIDE, SIDE), Image.Resampling.LANCZOS, reducing_gap=2.0)
    return ImageOps.exif_transpose(image)


def _in_true_colour(image: Image.Image) -> Image.Image:
    """Plain sRGB on white paper: without its profile, a phone's wide-gamut picture would look washed out."""
    from PIL import Image

    profile = image.info.get("icc_profile") or b""
    if "A" in image.getbands() or "transparency" in image.info:
        pixels = image.convert("RGBA")
        image = Image.new("RGB", image.size, PAPER)
        image.paste(pixels, mask=pixels)
    if 0 < len(profile) <= MAX_PROFILE:
        image = _by_profile(image, profile)
    image = image.convert("RGB")
    image.info = {}  # the encoders would write comments and profiles from here
    return image


def _by_profile(image: Image.Image, profile: bytes) -> Image.Image:
    from PIL import ImageCms

    try:
        target = ImageCms.createProfile("sRGB")
        source = ImageCms.ImageCmsProfile(io.BytesIO(profile))
        return ImageCms.profileToProfile(image, source, target, outputMode="RGB") or image
    except (ImageCms.PyCMSError, OSError, ValueError):
        return image  # a profile that does not fit its picture: as any viewer without colours would show it


def _written(image: Image.Image, taken: date | None) -> Picture:
    from PIL import Image

    large = _encoded(image, "JPEG", quality=QUALITY, optimize=True, progressive=True)
    thumb = image.copy()
    thumb.thumbnail((THUMB_SIDE, THUMB_SIDE), Image.Resampling.LANCZOS, reducing_gap=2.0)
    small = _encoded(thumb, "WEBP", quality=THUMB_QUALITY, method=4)
    return Picture(large, small, image.width, image.height, taken)


def _encoded(image: Image.Image, kind: str, **options: Any) -> bytes:
    file = io.BytesIO()
    image.save(file, kind, **options)
    return file.getvalue()
