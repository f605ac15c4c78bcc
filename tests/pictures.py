"""Pictures made in memory, good ones and wicked ones."""

import io
import struct
import zlib

from PIL import Image

CORNERS = {"nw": (200, 30, 30), "ne": (30, 160, 30), "sw": (30, 30, 200), "se": (230, 200, 40)}
GPS_IFD, EXIF_IFD = 0x8825, 0x8769


def four_corners(width=160, height=96):
    """Upright, each corner of another colour, so that any turn or mirror image shows."""
    image = Image.new("RGB", (width, height))
    half = width // 2, height // 2
    for name, colour in CORNERS.items():
        at = (half[0] if "e" in name else 0), (half[1] if "s" in name else 0)
        image.paste(colour, (*at, at[0] + half[0], at[1] + half[1]))
    return image


def exif(orientation=1, taken="2026:03:04 10:11:12", gps=True):
    """What a phone writes beside its pixels, position and maker included."""
    block = Image.Exif()
    block[0x0112], block[0x010F], block[0x0132] = orientation, "Invented Optics", "2026:05:06 00:00:00"
    if taken:
        block.get_ifd(EXIF_IFD)[0x9003] = taken
    if gps:
        block.get_ifd(GPS_IFD).update({1: "N", 2: (52.0, 30.0, 0.0), 3: "E", 4: (13.0, 24.0, 0.0)})
    return block


def encoded(image=None, kind="JPEG", **options):
    """The bytes of a picture."""
    file = io.BytesIO()
    (image or four_corners()).save(file, kind, **options)
    return file.getvalue()


def jpeg(width=160, height=96, **values):
    """A phone's JPEG."""
    return encoded(four_corners(width, height), quality=95, subsampling=0, exif=exif(**values))


def _chunk(kind, content):
    return struct.pack(">I", len(content)) + kind + content + struct.pack(">I", zlib.crc32(kind + content))


def png_bomb(side):
    """A PNG of one bit a pixel, all black: a few kilobytes that unpack to side × side pixels."""
    packer, row = zlib.compressobj(9), b"\0" * (side // 8 + 1)
    packed = b"".join(packer.compress(row) for _ in range(side)) + packer.flush()
    header = _chunk(b"IHDR", struct.pack(">IIBBBBB", side, side, 1, 0, 0, 0, 0))
    return b"\x89PNG\r\n\x1a\n" + header + _chunk(b"IDAT", packed) + _chunk(b"IEND", b"")
