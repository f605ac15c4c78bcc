"""What a file is by its first bytes, in a word for the keeper; its name and the type sent with it are not believed."""

from __future__ import annotations

SIGNS = (
    (b"GIF8", "a GIF"),
    (b"BM", "a BMP picture"),
    (b"II*\0", "a TIFF or a camera’s raw picture"),
    (b"MM\0*", "a TIFF or a camera’s raw picture"),
    (b"%PDF", "a PDF"),
    (b"PK\3\4", "a zip archive or an office document"),
    (b"\x1aE\xdf\xa3", "a video"),
    (b"8BPS", "a layered drawing"),
    (b"\xff\x0a", "a JPEG XL picture"),
    (b"\0\0\0\x0cJXL ", "a JPEG XL picture"),
    (b"\0\0\1\0", "an icon"),
)
HEIF_BRANDS = {b"heic", b"heix", b"heim", b"heis", b"hevc", b"hevx", b"mif1", b"msf1"}
AVIF_BRANDS = {b"avif", b"avis"}
MARKUP = 1024  # bytes in which a web page or a drawing shows itself


def is_heif(data: bytes) -> bool:
    """Whether the bytes begin as a HEIC file does (ISO/IEC 23008-12, brands of its `ftyp` box)."""
    return data[4:8] == b"ftyp" and data[8:12] in HEIF_BRANDS


def is_readable_kind(data: bytes) -> bool:
    """Whether the bytes begin as one of the four kinds does that are read, sound or not."""
    webp = data[:4] == b"RIFF" and data[8:12] == b"WEBP"
    return webp or is_heif(data) or data.startswith((b"\xff\xd8\xff", b"\x89PNG\r\n\x1a\n"))


def named(data: bytes) -> str:
    """What these bytes are, with its article, or nothing where it is anyone's guess.

    >>> named(b"GIF89a"), named(b"  <svg xmlns='x'/>"), named(b"moss and bark")
    ('a GIF', 'an SVG drawing', '')
    """
    for sign, word in SIGNS:
        if data.startswith(sign):
            return word
    if data[4:8] == b"ftyp":
        return "an AVIF picture" if data[8:12] in AVIF_BRANDS else "a video"
    return _markup(data[:MARKUP].lstrip(b"\xef\xbb\xbf \t\r\n").lower())


def _markup(head: bytes) -> str:
    if not head.startswith(b"<"):
        return ""
    if b"<svg" in head:
        return "an SVG drawing"
    return "a web page" if b"<html" in head or b"<!doctype html" in head else ""
