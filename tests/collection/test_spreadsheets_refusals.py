"""A file that is no table, or too much of one, gets one sentence and nothing else."""

import base64
import io
import random
import zipfile
from collections.abc import Callable
from pathlib import Path

import openpyxl
import pytest

from collection.spreadsheets.cells import Unreadable
from collection.spreadsheets.tables import read_table

SAMPLES = Path(__file__).parents[2] / "fixtures" / "import"
OLD_CONTAINER = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"


def refusal(data: bytes, name: str = "file.csv") -> str:
    with pytest.raises(Unreadable) as caught:
        read_table(data, name)
    sentence = caught.value.sentence
    assert sentence.endswith((".", "?"))
    assert len(sentence) < 200
    return sentence


def zipped(parts: dict[str, bytes]) -> bytes:
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in parts.items():
            archive.writestr(name, data)
    return file.getvalue()


def workbook(fill: Callable[[openpyxl.Workbook], None]) -> bytes:
    book, file = openpyxl.Workbook(), io.BytesIO()
    fill(book)
    book.save(file)
    return file.getvalue()


def with_part(data: bytes, name: str, change: Callable[[bytes], bytes]) -> bytes:
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        return zipped(
            {part: change(archive.read(part)) if part == name else archive.read(part) for part in archive.namelist()}
        )


@pytest.mark.parametrize("data", [(SAMPLES / "empty.csv").read_bytes(), b"\xef\xbb\xbf", b" \r\n\t\n", b"\xff\xfe"])
def test_an_empty_file_is_said_to_be_empty(data: bytes) -> None:
    assert "is empty" in refusal(data)


@pytest.mark.parametrize(
    ("data", "word"),
    [
        (b"%PDF-1.7 ...", "PDF"),
        (b"\x89PNG\r\n\x1a\n....", "picture"),
        (b"\xff\xd8\xff\xe0 JFIF", "picture"),
        (b"SQLite format 3\x00", "database"),
        (b"Code,Species\nA,\x00\x01\x02", "no text has"),
        (bytes(range(256)) * 40, "no text has"),
        (b"<!DOCTYPE html><html><table>", "web page"),
        (b"\xff\xfeA\x00B\x00C", "does not go on"),
        (OLD_CONTAINER + b"Workbook", "old .xls"),
        (OLD_CONTAINER + "EncryptedPackage".encode("utf-16-le"), "password"),
    ],
)
def test_files_of_another_kind_are_named_for_what_they_are(data: bytes, word: str) -> None:
    assert word in refusal(data)


@pytest.mark.parametrize(
    ("parts", "word"),
    [
        ({"photo.txt": b"x"}, "without a workbook"),
        ({"xl/workbook.bin": b"x"}, "binary workbook"),
        ({"content.xml": b"x", "mimetype": b"x"}, "another program"),
        ({"[Content_Types].xml": b"<broken", "xl/workbook.xml": b"<broken"}, "damaged"),
    ],
)
def test_zip_files_that_hold_no_workbook_are_named(parts: dict[str, bytes], word: str) -> None:
    assert word in refusal(zipped(parts))


def test_a_zip_file_cut_off_in_the_middle_is_damaged() -> None:
    data = (SAMPLES / "animals_messy.xlsx").read_bytes()
    assert "damaged" in refusal(data[: len(data) // 2])


@pytest.mark.parametrize("name", ["xl/worksheets/sheet1.xml", "xl/workbook.xml", "xl/styles.xml"])
def test_a_workbook_with_one_spoilt_part_is_damaged(name: str) -> None:
    data = with_part((SAMPLES / "animals_messy.xlsx").read_bytes(), name, lambda part: part[: len(part) // 3])
    assert "damaged" in refusal(data)


def test_a_zip_bomb_is_refused_from_its_directory_without_being_unpacked() -> None:
    bomb = zipped({"xl/workbook.xml": b"x", "xl/worksheets/sheet1.xml": b"0" * 30_000_000})
    assert len(bomb) < 40_000
    assert "far more than its size" in refusal(bomb, "bomb.xlsx")


def test_a_zip_that_unpacks_beyond_200_mb_is_refused() -> None:
    one = b"0123456789abcdef" * 65536 * 30  # 30 MiB
    assert "larger than 200 MB" in refusal(
        zipped({"xl/workbook.xml": b"x", **{f"xl/media/{i}": one for i in range(7)}})
    )


def test_entities_that_blow_up_are_refused() -> None:
    lol = b"".join(b'<!ENTITY a%d "%s">' % (i, b"&a%d;" % (i - 1) * 10) for i in range(1, 10))
    head = b'<?xml version="1.0"?><!DOCTYPE x [<!ENTITY a0 "hahaha">' + lol + b"]>"
    data = workbook(lambda book: book.active.append(["Code", "Species"]))
    data = with_part(data, "xl/worksheets/sheet1.xml", lambda part: head + part.replace(b"Species", b"&a9;"))
    assert "damaged" in refusal(data)


def test_300_columns_are_refused_in_text_and_in_a_workbook() -> None:
    row = [f"c{i}" for i in range(300)]
    assert "300 columns" in refusal((",".join(row) + "\n" + ",".join(row)).encode())
    assert "300 columns" in refusal(workbook(lambda book: book.active.append(row)), "wide.xlsx")


def test_ten_megabytes_in_one_cell_are_refused_with_the_row() -> None:
    assert "In row 2 one cell" in refusal(b'Code,Notes\nA,"' + b"x" * 10_000_000 + b'"\n')
    assert "In row 2 one cell" in refusal(b"Code,Notes\nA," + b"x" * 40_000)


def test_ten_megabytes_in_one_cell_of_a_workbook_are_refused() -> None:
    data = workbook(lambda book: book.active.append(["Code", "MARK"]))
    text = base64.b64encode(random.Random(1).randbytes(7_500_000))  # does not compress, so no bomb
    data = with_part(data, "xl/worksheets/sheet1.xml", lambda part: part.replace(b"MARK", text))
    assert "In row 1 one cell" in refusal(data, "big.xlsx")


def test_a_quotation_mark_left_open_is_explained() -> None:
    assert "quotation mark" in refusal(b'Code,Notes\nA,"open\n' + b"B,x\n" * 20_000)


def test_more_rows_than_the_limit_are_refused() -> None:
    assert "250,000 rows" in refusal(b"Code,Species\n" + b"A,x\n" * 250_001)


def test_more_cells_than_memory_should_hold_are_refused() -> None:
    assert "3,000,000 cells" in refusal(
        b"Code,Species\n" + b",".join([b"a"] * 190) + b"\n" + (b"1," * 189 + b"1\n") * 16_000
    )


def test_a_file_larger_than_the_limit_is_refused_unread() -> None:
    assert "larger than 32 MB" in refusal(b"a" * (32 * 1024 * 1024 + 1))


def test_a_row_number_beyond_any_sheet_is_refused_quickly() -> None:
    data = workbook(lambda book: book.active.append(["Code", "Species"]))
    data = with_part(data, "xl/worksheets/sheet1.xml", lambda part: part.replace(b'<row r="1"', b'<row r="99999999"'))
    assert "formatted far beyond" in refusal(data)


def test_a_sheet_that_does_not_exist_is_refused_with_those_that_do() -> None:
    data = (SAMPLES / "animals_messy.xlsx").read_bytes()
    with pytest.raises(Unreadable, match="It has: Animals, Wish list"):
        read_table(data, "animals_messy.xlsx", sheet="Spiders")
