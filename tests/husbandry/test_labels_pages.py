"""The labels page: who gets in, what is chosen, what is refused, and what is remembered of each print."""

import io
from datetime import date, timedelta

import pypdf
import pytest
from django.utils import timezone

from collection.models import Receipt
from husbandry import services
from husbandry.label_services import prints
from husbandry.models import LabelAddress, LabelPrint, PrintedLabel, Printer
from tests.factories import EnclosureFactory, SpecimenFactory, place

PAGE = "/racks/labels/"
HOUSE = "HTTP://RACK.LOCAL:8000"
FORM = {"of": "animals", "kind": "enclosure", "paper": "a4-3x8", "start": "1", "copies": "1", "shown": "enclosure"}


@pytest.fixture
def house(keeper_client):
    prints.save_address(HOUSE)
    return keeper_client


def make(client, **values):
    return client.post(PAGE, {**FORM, "do": "make", "once": f"key{LabelPrint.objects.count()}", **values})


def printed(row):
    """The codes of what a print was for."""
    return [label.subject.code for label in row.labels.all()]


def text_of(response):
    return "".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(response.content)).pages)


def test_a_helper_gets_no_labels(helper_client):
    for address in (PAGE, f"{PAGE}address/", f"{PAGE}printers/new/"):
        assert helper_client.get(address).status_code == 403
    assert helper_client.post(PAGE, {**FORM, "do": "make"}).status_code == 403


def test_without_an_address_the_page_asks_for_it_first(keeper_client):
    SpecimenFactory()
    assert b"Before the first label" in keeper_client.get(PAGE).content
    assert make(keeper_client).status_code == 422
    assert not LabelPrint.objects.exists()


def test_the_address_never_comes_from_the_request(keeper_client, settings):
    response = keeper_client.get(f"{PAGE}address/", headers={"host": "192.168.7.7:1234"})
    assert b"192.168.7.7" not in response.content
    assert f"http://{settings.MACHINE}.local".encode() in response.content


def test_an_address_is_kept_in_capitals_and_once(keeper_client):
    for typed in ("http://rack.local:8000", "http://rack.local:8000/"):
        keeper_client.post(f"{PAGE}address/", {"address": typed, "once": typed[-6:]})
    assert LabelAddress.of_the_house() == HOUSE
    assert LabelAddress.history.count() == 1


def test_a_wrong_address_is_refused_with_what_was_typed(keeper_client):
    response = keeper_client.post(f"{PAGE}address/", {"address": "http://localhost:8000", "once": "a"})
    assert response.status_code == 422
    assert b'value="http://localhost:8000"' in response.content
    assert b"each device itself" in response.content


def test_an_empty_page_lays_nothing_out(house):
    SpecimenFactory.create_batch(3)
    response = house.get(PAGE)
    assert response.context["shown"] is None
    assert b"Choose a rack" in response.content


def test_the_filters_of_the_register_choose_animals(house):
    SpecimenFactory(code="A-1", taxon__group="scorpion")
    SpecimenFactory(code="B-1")
    shown = house.get(f"{PAGE}?of=animals&group=scorpion").context["shown"]
    assert [content.code for content in shown.contents] == ["A-1"]


def test_a_whole_rack_is_printed_in_walking_order(house):
    rack = place("Rack A")
    for position, code in ((2, "B-1"), (1, "C-1"), (3, "A-1")):
        services.move(SpecimenFactory(code=code), EnclosureFactory(place=rack, position=position), date(2026, 1, 1))
    SpecimenFactory(code="Z-9")
    shown = house.get(f"{PAGE}?of=animals&place={rack.pk}").context["shown"]
    assert [content.code for content in shown.contents] == ["C-1", "B-1", "A-1"]
    boxes = house.get(f"{PAGE}?of=enclosures&place={rack.pk}").context["shown"]
    assert [content.lives_here for content in boxes.contents] == ["C-1", "B-1", "A-1"]


def test_new_since_a_day_chooses_what_came_or_was_entered_since(house):
    today = timezone.localdate()
    SpecimenFactory(code="OLD-1")
    SpecimenFactory(code="NEW-1", acquired_earliest=today, acquired_latest=today)
    EnclosureFactory(code="BOX-1")
    since = today - timedelta(days=1)
    shown = house.get(f"{PAGE}?of=animals&since={since}").context["shown"]
    assert [content.code for content in shown.contents] == ["NEW-1"]
    boxes = house.get(f"{PAGE}?of=enclosures&since={since}").context["shown"]
    assert [content.code for content in boxes.contents] == ["BOX-1"]


def test_pasted_codes_and_tags_keep_their_order(house):
    first, second = SpecimenFactory(code="A 1"), SpecimenFactory(code="B-2")
    SpecimenFactory(code="C-3")
    response = house.get(PAGE, {"of": "animals", "codes": f"b-2,\n{first.tag[:4]} {first.tag[4:]}; A 1"})
    assert [content.code for content in response.context["shown"].contents] == [second.code, first.code]


def test_unknown_codes_are_named_and_nothing_is_printed(house):
    SpecimenFactory(code="A-1")
    response = make(house, codes="A-1, X-9")
    assert response.status_code == 422
    assert b"No animal is called: X-9." in response.content
    assert b"A-1, X-9</textarea>" in response.content
    assert not LabelPrint.objects.exists()


def test_what_is_ticked_is_left_out(house):
    kept, left = SpecimenFactory(code="A-1"), SpecimenFactory(code="A-2")
    make(house, leave=[left.pk, "²", "9" * 5000])
    assert printed(LabelPrint.objects.get()) == [kept.code]


def test_what_is_left_out_stays_so_while_something_else_is_put_right(house):
    left = SpecimenFactory(code="A-1")
    response = house.get(PAGE, {"of": "animals", "codes": "X-9", "leave": left.pk})
    hidden = f'<input type="hidden" name="leave" value="{left.pk}" form="labels">'
    assert hidden in response.content.decode()


def test_labels_that_do_not_fit_can_be_left_out(house):
    tight, roomy = SpecimenFactory(code="A-1-WITH-A-VERY-LONG-CODE"), SpecimenFactory(code="B-1", taxon__name="Fi ro")
    response = house.get(PAGE, {"of": "animals", "kind": "spiderling", "paper": "roll-30x20"})
    assert f'value="{tight.pk}" form="labels"' in response.content.decode()
    make(house, kind="spiderling", paper="roll-30x20", leave=[tight.pk])
    assert printed(LabelPrint.objects.get()) == [roomy.code]


def test_show_leads_to_an_address_that_holds_the_choice(house):
    SpecimenFactory(code="A-1")
    response = house.post(
        PAGE, {**FORM, "q": "A-1", "parts": ["sex", "price"], "start": "6", "do": "show", "once": "s"}
    )
    assert response.status_code == 302
    page = house.get(response.url)
    assert page.context["form"]["start"].value() == "6"
    assert page.context["form"]["parts"].value() == ["sex", "price"]
    assert not Receipt.objects.exists()


def test_a_cup_label_starts_with_what_cups_usually_carry(house):
    SpecimenFactory(code="A-1")
    page = house.get(f"{PAGE}?of=animals&kind=spiderling")
    assert page.context["form"]["paper"].value() == "a4-5x13"
    assert set(page.context["form"]["parts"].value()) == {"sex", "date", "descent"}


def test_a_change_of_kind_changes_parts_that_nobody_touched_but_never_while_printing(house):
    SpecimenFactory(code="A-1")
    usual = ["sex", "date", "listing", "descent", "authorship", "common", "words"]
    shown = house.get(PAGE, {**FORM, "kind": "spiderling", "parts": usual})
    assert set(shown.context["form"]["parts"].value()) == {"sex", "date", "descent"}
    make(house, kind="spiderling", parts=usual)
    assert set(LabelPrint.objects.get().setup["parts"]) == set(usual)


@pytest.mark.parametrize(
    ("values", "said"),
    [
        ({"start": "25"}, b"A page holds 24 labels."),
        ({"copies": "21"}, b"less than or equal to 20"),
        ({"paper": "roll-30x20"}, b"30 \xc3\x97 20 mm is too small for A-1"),
        ({"paper": "own"}, b"width and height in millimetres"),
        (
            {"paper": "own", "own_width": "80", "own_height": "30", "own_columns": "3"},
            b"240 mm, but the page is 210 mm wide",
        ),
        ({"copies": "20", "q": ""}, None),
    ],
)
def test_what_cannot_be_printed_is_refused_with_what_was_typed(house, values, said):
    SpecimenFactory(code="A-1")
    response = make(house, **values)
    assert response.status_code == (422 if said else 302)
    assert said is None or said in response.content
    assert LabelPrint.objects.exists() is (said is None)


def test_a_print_is_not_larger_than_a_thousand_labels(house, monkeypatch):
    monkeypatch.setattr("husbandry.views.labels.MOST_LABELS", 3)
    SpecimenFactory.create_batch(2)
    assert b"These are 4 labels; one print takes 3." in make(house, copies="2").content


def test_own_millimetres_make_a_sheet_in_the_middle_of_the_page(house):
    SpecimenFactory(code="A-1")
    make(house, paper="own", own_page="a4", own_width="60", own_height="30", own_columns="3", own_rows="9")
    kept = LabelPrint.objects.get().setup["paper"]
    assert (kept["left"], kept["top"], kept["pitch_x"], kept["pitch_y"]) == (15, 13.5, 60, 30)


def test_a_print_is_remembered_with_who_when_what_and_which_address(house, keeper):
    SpecimenFactory(code="A-1")
    response = make(house)
    row = LabelPrint.objects.get()
    assert response.url == row.get_absolute_url()
    assert (row.user, row.kind, row.address, printed(row)) == (keeper, "enclosure", HOUSE, ["A-1"])
    assert b"100 %" in house.get(row.get_absolute_url()).content


def test_the_same_form_twice_is_one_print(house):
    SpecimenFactory(code="A-1")
    for _ in range(2):
        house.post(PAGE, {**FORM, "do": "make", "once": "same"})
    assert LabelPrint.objects.count() == 1


def test_a_print_can_be_taken_back(house):
    SpecimenFactory(code="A-1")
    make(house)
    house.post(f"/undo/{Receipt.objects.get().pk}/", {"back": PAGE})
    assert not LabelPrint.objects.exists()
    assert not PrintedLabel.objects.exists()


def test_the_pdf_says_what_the_label_should(house):
    animal = SpecimenFactory(
        code="A-1", taxon__name="Fictor longipes", taxon__venom_class=2, taxon__common_name="long one"
    )
    make(house, parts=["authorship", "common", "words"])
    response = house.get(f"{LabelPrint.objects.get().get_absolute_url()}labels.pdf")
    assert response["Content-Type"] == "application/pdf"
    text = text_of(response)
    for said in (
        "Fictor longipes",
        "Nobody, 1900",
        "A-1",
        f"{animal.tag[:4]} {animal.tag[4:]}",
        "V2",
        "strong bite",
        "long one",
    ):
        assert said in text


def test_an_old_print_keeps_its_paper_and_its_address(house):
    SpecimenFactory(code="A-1")
    make(house, paper="roll-57x32", start="1")
    prints.save_address("HTTP://NEW.LOCAL")
    row = LabelPrint.objects.get()
    assert prints.job_of(row).house == HOUSE
    assert b"no longer the house" in house.get(row.get_absolute_url()).content
    assert len(pypdf.PdfReader(io.BytesIO(house.get(f"{row.get_absolute_url()}labels.pdf").content)).pages) == 1


def test_labels_that_carry_an_old_address_are_listed_until_printed_anew(house):
    SpecimenFactory(code="A-1")
    box = EnclosureFactory(code="BOX-1")
    make(house)
    make(house, of="enclosures")
    assert house.get(PAGE).context["old"] == []
    prints.save_address("HTTP://NEW.LOCAL")
    page = house.get(PAGE)
    assert [(row.subject.code, row.address) for row in page.context["old"]] == [("A-1", HOUSE), (box.code, HOUSE)]
    make(house, only="stale")
    assert [row.subject.code for row in house.get(PAGE).context["old"]] == ["BOX-1"]


def test_what_was_never_printed_can_be_chosen(house):
    SpecimenFactory(code="A-1")
    make(house)
    SpecimenFactory(code="A-2")
    make(house, only="new")
    assert printed(LabelPrint.objects.first()) == ["A-2"]


def test_a_group_says_how_many_and_a_price_only_when_asked(house):
    group = SpecimenFactory(code="G-1", kind="group", price="25")
    content = prints.Subjects(True, [group.pk]).contents(timezone.localdate())[group.pk]
    assert (content.sex, content.count, content.price) == ("group", "×1", "Price 25.00")
    make(house, kind="transport", paper="a4-3x8", parts=["sex"])
    assert "Price" not in text_of(house.get(f"{LabelPrint.objects.get().get_absolute_url()}labels.pdf"))


def test_a_fragment_brings_the_preview_and_the_parts_alone(house):
    SpecimenFactory(code="A-1")
    response = house.get(f"{PAGE}?of=animals", headers={"HX-Request": "true"})
    assert b"<html" not in response.content
    assert b'id="label-preview"' in response.content
    assert b'hx-swap-oob="true"' in response.content


PRINTER = {"name": "Desk", "dpi": "600", "paper": "a4-3x8"}


def test_a_printer_keeps_what_was_read_and_its_error_is_taken_back(house):
    house.post(f"{PAGE}printers/new/", {**PRINTER, "across_mm": "99", "left_mm": "11.9", "once": "p"})
    desk = Printer.objects.get()
    assert desk.calibration.across.scale == pytest.approx(0.99)
    assert desk.calibration.across.shift == pytest.approx(2.0)
    SpecimenFactory(code="A-1")
    make(house, printer=desk.pk)
    assert prints.job_of(LabelPrint.objects.get()).calibration == desk.calibration
    for address in ("calibration.pdf", "calibration.pdf?corrected"):
        assert house.get(desk.get_absolute_url() + address)["Content-Type"] == "application/pdf"


def test_a_reading_that_means_a_shrunk_page_is_refused_with_what_was_typed(house):
    response = house.post(f"{PAGE}printers/new/", {**PRINTER, "across_mm": "93", "once": "p"})
    assert response.status_code == 422
    assert b"not printed at 100 %" in response.content
    assert b'value="93"' in response.content
    assert not Printer.objects.exists()


def test_the_page_asks_few_questions_however_many_animals(house, django_assert_max_num_queries):
    taxon = SpecimenFactory(code="A-0").taxon
    SpecimenFactory.create_batch(30, taxon=taxon)
    house.get(PAGE)
    with django_assert_max_num_queries(30):
        house.get(f"{PAGE}?of=animals")
