"""Pictures come in: upright, small, in true colour, and with nothing left in them but pixels; the rest is refused."""

import io
import sys
from datetime import date
from pathlib import Path

import pytest
from PIL import Image, ImageCms

from collection.models.photo import THUMB_SIDE
from collection.photos import apart, intake
from tests import pictures

TURNED_HEIC = (Path(__file__).parents[1] / "reference" / "turned.heic").read_bytes()  # see SOURCES.md
TURNS = {
    2: Image.Transpose.FLIP_LEFT_RIGHT,
    3: Image.Transpose.ROTATE_180,
    4: Image.Transpose.FLIP_TOP_BOTTOM,
    5: Image.Transpose.TRANSPOSE,
    6: Image.Transpose.ROTATE_90,
    7: Image.Transpose.TRANSVERSE,
    8: Image.Transpose.ROTATE_270,
}  # how the sensor saw what the orientation tag sets right: CIPA DC-008 (Exif 2.32), tag 0x0112
DAMAGED = "This picture is damaged, or its end is missing. Send it again."


def seen(content):
    """A stored picture, decoded."""
    return Image.open(io.BytesIO(content)).convert("RGB")


def corners(image):
    """The colour in each corner, to the next named one."""
    wide, high = image.size
    at = {"nw": (8, 8), "ne": (wide - 9, 8), "sw": (8, high - 9), "se": (wide - 9, high - 9)}
    return {
        name: min(pictures.CORNERS, key=lambda known: off(image.getpixel(spot), pictures.CORNERS[known]))
        for name, spot in at.items()
    }


def off(one, other):
    return sum(abs(a - b) for a, b in zip(one, other, strict=True))


@pytest.mark.parametrize("orientation", [1, *TURNS])
def test_each_of_the_eight_orientations_is_set_upright_pixel_by_pixel(orientation):
    upright = pictures.four_corners()
    sensor = upright.transpose(TURNS[orientation]) if orientation in TURNS else upright
    taken = intake.take(pictures.encoded(sensor, "PNG", exif=pictures.exif(orientation)))
    kept = seen(taken.large)
    assert kept.size == upright.size == (taken.width, taken.height)
    pairs = zip(kept.get_flattened_data(), upright.get_flattened_data(), strict=True)
    assert sum(off(a, b) > 60 for a, b in pairs) < 2 * (160 + 96)  # nothing but the blur where colours meet
    assert corners(kept) == {name: name for name in pictures.CORNERS}


def test_a_heic_that_is_turned_by_itself_and_by_its_exif_is_turned_once():
    taken = intake.take(TURNED_HEIC)
    assert (taken.width, taken.height, taken.taken) == (48, 64, date(2026, 3, 4))
    assert corners(seen(taken.large)) == {"nw": "sw", "ne": "nw", "sw": "se", "se": "ne"}


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_position_maker_and_comments_are_gone_from_both_files(kind):
    options = {"comment": b"<script>alert(1)</script>"} if kind == "JPEG" else {}
    data = pictures.encoded(None, kind, exif=pictures.exif(), **options)
    assert b"Invented Optics" in data
    taken = intake.take(data)
    for content in (taken.large, taken.small):
        image = Image.open(io.BytesIO(content))
        assert (len(image.getexif()), {"comment", "icc_profile", "xmp", "exif"} & image.info.keys()) == (0, set())
        assert not any(word in content for word in (b"Exif", b"Invented", b"<script", b"GPS", b"http"))


def test_what_hangs_behind_a_picture_is_left_behind():
    taken = intake.take(pictures.jpeg() + b"PK\x03\x04 an archive <html>")
    assert b"archive" not in taken.large


@pytest.mark.parametrize(
    ("size", "kept"), [((4000, 3000), (2048, 1536)), ((1000, 5000), (410, 2048)), ((30, 20), None)]
)
def test_the_longer_side_is_at_most_2048_pixels_and_400_in_the_thumbnail(size, kept):
    taken = intake.take(pictures.jpeg(*size, orientation=1))
    assert seen(taken.large).size == (kept or size) == (taken.width, taken.height)
    assert max(seen(taken.small).size) == min(THUMB_SIDE, max(size))
    assert (intake.THUMB_SIDE, Image.open(io.BytesIO(taken.large)).format) == (THUMB_SIDE, "JPEG")
    assert Image.open(io.BytesIO(taken.small)).format == "WEBP"


@pytest.mark.parametrize(
    ("said", "day"),
    [
        ("2026:03:04 10:11:12", date(2026, 3, 4)),
        ("2024:02:29", date(2024, 2, 29)),
        ("0000:00:00 00:00:00", None),
        ("1970:01:01 00:00:00", None),
        ("2026:02:30 10:00:00", None),
        ("yesterday", None),
        ("", None),
    ],
)
def test_the_day_is_that_of_the_shutter_and_not_of_a_later_change(said, day):
    assert intake.take(pictures.jpeg(taken=said)).taken == day


def test_a_broken_block_of_exif_costs_the_day_and_not_the_picture():
    data = pictures.jpeg().replace(b"Exif\0\0II*\0", b"Exif\0\0II*\0\xff", 1)
    assert intake.take(data).width == 160


def test_what_is_transparent_lies_on_white_paper():
    clear = Image.new("RGBA", (60, 60), (255, 0, 0, 0))
    assert seen(intake.take(pictures.encoded(clear, "PNG")).large).getpixel((30, 30)) == (255, 255, 255)


@pytest.mark.parametrize("mode", ["L", "1", "P", "LA", "I;16", "CMYK"])
def test_every_kind_of_pixels_becomes_true_colour(mode):
    grey = Image.new("L", (64, 48), 200)
    image = grey.convert("RGB").convert("CMYK") if mode == "CMYK" else grey.convert(mode) if mode != "I;16" else None
    image = image or Image.new("I;16", (64, 48), 200 * 257)
    taken = intake.take(pictures.encoded(image, "JPEG" if mode == "CMYK" else "PNG"))
    level = seen(taken.large).getpixel((20, 20))
    assert off(level, (255, 255, 255) if mode == "1" else (200, 200, 200)) <= 12 or mode == "1"


def profile(**renamed):
    """The profile of sRGB, with tags renamed: red primaries for green ones show whether anybody looked."""
    plain = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    for old, new in renamed.items():
        plain = plain.replace(old.encode(), new.encode(), 1)
    return plain


def test_colours_of_another_profile_are_carried_over_and_not_relabelled():
    swapped = profile(rXYZ="tXYZ", gXYZ="rXYZ", tXYZ="gXYZ")
    taken = intake.take(pictures.encoded(None, "PNG", icc_profile=swapped))
    assert corners(seen(taken.large)) | {"se": ""} == {"nw": "ne", "ne": "nw", "sw": "sw", "se": ""}


@pytest.mark.parametrize("kind", ["XYZ", "LAB"])
def test_a_profile_that_does_not_fit_its_picture_is_passed_over(kind):
    wrong = ImageCms.ImageCmsProfile(ImageCms.createProfile(kind)).tobytes()
    plain = intake.take(pictures.encoded(None, "PNG")).large
    assert intake.take(pictures.encoded(None, "PNG", icc_profile=wrong)).large == plain
    assert intake.take(pictures.encoded(None, "PNG", icc_profile=b"no profile")).large == plain


def test_a_picture_with_a_second_one_inside_is_read_as_its_first():
    data = pictures.encoded(None, "MPO", save_all=True, append_images=[Image.new("RGB", (40, 40))])
    assert (intake.take(data).width, intake.take(data).height) == (160, 96)


REFUSED = {
    "empty": (b"", "This file is empty."),
    "GIF": (pictures.encoded(Image.new("P", (50, 50)), "GIF"), "This is a GIF."),
    "BMP": (pictures.encoded(None, "BMP"), "This is a BMP picture."),
    "TIFF": (pictures.encoded(None, "TIFF"), "This is a TIFF or a camera’s raw picture."),
    "AVIF": (b"\0\0\0\x1cftypavif" + b"\0" * 40, "This is an AVIF picture."),
    "video": (b"\0\0\0\x1cftypisom" + b"\0" * 40, "This is a video."),
    "SVG": (
        b"<?xml version='1.0'?>\n<svg xmlns='http://www.w3.org/2000/svg' onload='x()'/>",
        "This is an SVG drawing.",
    ),
    "HTML": (b"\n<!DOCTYPE html><script>1</script>", "This is a web page."),
    "PDF": (b"%PDF-1.7 and so on", "This is a PDF."),
    "text": (b"moss and bark", "This is not a picture that can be read."),
    "cut JPEG": (pictures.jpeg(1600, 1200)[:9000], DAMAGED),
    "cut PNG": (pictures.encoded(None, "PNG")[:120], DAMAGED),
    "cut HEIC": (TURNED_HEIC[:700], DAMAGED),
    "HEIC, beginning only": (TURNED_HEIC[:60], DAMAGED),
    "JPEG, beginning only": (b"\xff\xd8\xff\xe0" + b"\0" * 100, DAMAGED),
    "bomb": (pictures.png_bomb(20_000), "This picture has more than 60 million pixels. Send it smaller."),
    "81 million": (pictures.png_bomb(9_000), "This picture has more than 30 million pixels. Send it smaller."),
}


@pytest.mark.parametrize("name", REFUSED)
def test_what_is_no_picture_is_refused_with_a_sentence(name):
    data, says = REFUSED[name]
    with pytest.raises(intake.Refused) as refusal:
        intake.take(data)
    assert str(refusal.value).startswith(says)
    assert str(refusal.value).endswith((".", "WebP or HEIC."))


def test_a_bomb_is_refused_from_its_header_and_never_decoded(monkeypatch):
    monkeypatch.setattr(Image.Image, "load", lambda self: pytest.fail("it was decoded"))
    for side in (20_000, 9_000):
        with pytest.raises(intake.Refused, match="million pixels"):
            intake.take(pictures.png_bomb(side))


def test_more_than_25_mb_are_refused_before_a_byte_is_looked_at():
    with pytest.raises(intake.Refused, match="larger than 25 MB"):
        intake.take(b"\xff\xd8" + bytes(intake.MAX_BYTES))


def test_where_heic_cannot_be_read_it_says_what_to_do(monkeypatch):
    monkeypatch.setitem(__import__("sys").modules, "pi_heif", None)
    with pytest.raises(intake.Refused, match="Send it as JPEG"):
        intake.take(TURNED_HEIC)


def test_one_picture_is_decoded_at_a_time(monkeypatch):
    inside = []
    plain = intake._written

    def watched(*given):
        inside.append(intake._one_at_a_time.locked())
        return plain(*given)

    monkeypatch.setattr(intake, "_written", watched)
    intake.take(pictures.jpeg())
    assert (inside, intake._one_at_a_time.locked()) == ([True], False)


def test_a_heic_is_decoded_in_a_process_of_its_own_and_comes_out_the_same():
    assert apart.take(TURNED_HEIC) == intake.take(TURNED_HEIC)
    with pytest.raises(intake.Refused, match=DAMAGED):
        apart.take(TURNED_HEIC[:60])


@pytest.mark.parametrize("code", ["import os; os.abort()", "import time; time.sleep(9)"])
def test_a_decoder_that_crashes_or_hangs_takes_nothing_down_with_it(monkeypatch, code):
    monkeypatch.setattr(apart, "COMMAND", [sys.executable, "-c", code])
    monkeypatch.setattr(apart, "PATIENCE", 1.0)
    with pytest.raises(intake.Refused, match=DAMAGED):
        apart.take(TURNED_HEIC)


def test_a_decoder_that_stumbles_in_its_own_way_is_a_damaged_picture(monkeypatch):
    def stumble(image):
        raise RuntimeError("Memory allocation error")

    monkeypatch.setattr(intake, "_small_and_upright", stumble)
    with pytest.raises(intake.Refused, match=DAMAGED):
        intake.take(pictures.jpeg())
