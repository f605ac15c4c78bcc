"""The list of taxa, a taxon's page, and the form behind both."""

import re
from datetime import date

import pytest
from django.contrib.auth.models import User
from django.urls import reverse

from collection import dues, receipts, taxa
from collection.models import Due, Receipt, Specimen, Taxon
from collection.taxon_figures import figures_of

pytestmark = pytest.mark.django_db
LIST = "/papers/taxa/"


@pytest.fixture(autouse=True)
def _seeded(db):
    taxa.seed()


@pytest.fixture
def keeper(client):
    client.force_login(User.objects.create_superuser("keeper", password="clove-oak-29"))
    return client


@pytest.fixture
def helper(client):
    client.force_login(User.objects.create_user("helper", password="clove-oak-29"))
    return client


@pytest.fixture
def hamorii():
    return Taxon.objects.get(name="Brachypelma hamorii")


def text_of(response):
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", response.content.decode()))


def form_data(taxon=None, **changes):
    """What a browser sends for a taxon left as it is, but for the changes."""
    data = {"name": "Xenesthis intermedia", "group": "tarantula", "rank": "species", "size_measure": "leg_span"}
    if taxon is not None:
        values = {field.name: getattr(taxon, field.name) for field in Taxon._meta.fields}
        data = {name: "" if value is None else value for name, value in values.items() if value is not False}
        data["other_names"] = "\n".join(taxon.other_names.values_list("name", flat=True))
        data = {name: value for name, value in data.items() if not isinstance(value, dict)}
    rows = list(taxon.listings.all()) if taxon else []
    data |= {"listings-TOTAL_FORMS": len(rows) + 1, "listings-INITIAL_FORMS": len(rows), "once": receipts.new_key()}
    for number, row in enumerate(rows):
        for name in ("id", "scheme", "entry", "since", "as_of", "note"):
            data[f"listings-{number}-{name}"] = getattr(row, name) or ""
    data[f"listings-{len(rows)}-scheme"] = "CITES"  # the empty row, as the page offers it
    return data | changes


def keep_one(taxon, code="B-001", **facts):
    specimen = Specimen.objects.create(code=code, taxon=taxon, **facts)
    dues.refresh([specimen.pk])
    return specimen


def test_the_list_shows_fifty_a_page_and_finds_old_names(keeper):
    assert "97 taxa" in text_of(keeper.get(LIST))
    assert "page 1 of 2" in text_of(keeper.get(LIST))
    found = text_of(keeper.get(LIST, {"q": "Brachypelma albopilosum"}))
    assert "1 taxon" in found
    assert "Tliltocatl albopilosus" in found


def test_the_list_narrows_by_group_and_by_what_is_kept(keeper, hamorii):
    keep_one(hamorii)
    assert "6 taxa" in text_of(keeper.get(LIST, {"group": "mantis"}))
    kept = text_of(keeper.get(LIST, {"kept": "on"}))
    assert "1 taxon" in kept
    assert "Brachypelma hamorii" in kept


def test_a_filter_that_fits_nothing_or_makes_no_sense_still_answers(keeper):
    assert "No taxon fits" in text_of(keeper.get(LIST, {"q": "unicorn"}))
    assert "97 taxa" in text_of(keeper.get(LIST, {"group": "unicorn", "page": "999"}))


def test_the_list_asks_as_many_questions_for_many_as_for_few(keeper, hamorii, django_assert_max_num_queries):
    for number in range(10):
        keep_one(hamorii, f"B-{number:03d}")
    keeper.get(LIST)
    with django_assert_max_num_queries(9):
        keeper.get(LIST)


def test_a_page_says_every_default_with_its_source_and_what_has_none(keeper, hamorii):
    said = text_of(keeper.get(hamorii.get_absolute_url()))
    for words in ("14–16 cm", "55–70 %", "23–28 °C", "4–10 months", "300–800", "common practice, no published source"):
        assert words in said
    mira = Taxon.objects.get(name="Idiothele mira")
    assert "Kind of brood no default" in text_of(keeper.get(mira.get_absolute_url()))


def test_a_page_says_as_of_when_a_listing_was_looked_up(keeper, hamorii):
    said = text_of(keeper.get(hamorii.get_absolute_url()))
    assert "CITES Appendix II" in said
    assert "2022-11-25" in said
    assert "check the current list" in said
    rosea = Taxon.objects.get(name="Grammostola rosea")
    assert "to re-check" in text_of(keeper.get(rosea.get_absolute_url()))


def test_a_page_cautions_and_defers_to_those_who_know(helper):
    metallica = Taxon.objects.get(name="Poecilotheria metallica")
    said = text_of(helper.get(metallica.get_absolute_url()))
    assert "Delayed muscle cramps" in said
    assert "poison centre or a doctor" in said


def test_a_page_lists_who_is_kept(keeper, hamorii):
    keep_one(hamorii)
    assert "B-001" in text_of(keeper.get(hamorii.get_absolute_url()))


@pytest.mark.parametrize(
    ("name", "label", "said"),
    [
        ("Pandinus imperator", "Pairing to birth", "7–9 months"),
        ("Hymenopus coronatus", "Pairing to first ootheca", "0.5–1 months"),
        ("Hottentotta hottentotta", "Pairing to birth", "no pairing needed"),
        ("Hymenopus coronatus", "Laying to hatching", "5–7 weeks"),
        ("Damon diadema", "Adult leg span", "15–20 cm"),
        ("Dynastes hercules", "Adult body length", "6–17 cm"),
    ],
)
def test_each_group_has_its_own_words(name, label, said):
    figures = {figure.label: figure.said for figure in figures_of(Taxon.objects.get(name=name))}
    assert figures[label] == said


def test_only_the_keeper_may_list_and_change_taxa(helper, hamorii):
    assert helper.get(hamorii.get_absolute_url()).status_code == 200
    for url in (LIST, f"{LIST}new/", f"{LIST}{hamorii.pk}/edit/"):
        assert helper.get(url).status_code == 403
    assert helper.post(f"{LIST}{hamorii.pk}/edit/", form_data(hamorii, name="x")).status_code == 403


def test_nothing_is_deleted_or_changed_by_the_wrong_method(keeper, hamorii):
    assert keeper.post(LIST).status_code == 405
    assert keeper.delete(hamorii.get_absolute_url()).status_code == 405


def test_a_taxon_of_the_keepers_own_is_added_with_its_names(keeper):
    answer = keeper.post(
        f"{LIST}new/", form_data(other_names="Xenesthis sp. blue\n\nXenesthis sp. blue", clutch_min="80")
    )
    taxon = Taxon.objects.get(name="Xenesthis intermedia")
    assert answer.headers["Location"] == taxon.get_absolute_url()
    assert taxa.resolve("Xenesthis sp. blue") == taxon
    assert taxon.sources["clutch"].startswith("the keeper's own, ")


def test_a_changed_figure_takes_its_new_source_and_the_others_keep_theirs(keeper, hamorii):
    before = dict(hamorii.sources)
    data = form_data(hamorii, humidity_min="50", because="my hygrometers")
    assert keeper.post(f"{LIST}{hamorii.pk}/edit/", data).status_code == 302
    after = Taxon.objects.get(pk=hamorii.pk)
    assert after.humidity_min == 50
    assert after.sources["humidity"].startswith("my hygrometers, ")
    assert {**after.sources, "humidity": before["humidity"]} == before
    assert taxa.seed().unchanged
    assert list(after.listings.values_list("entry", flat=True)) == ["Appendix II"]


def test_an_edit_survives_a_seeding_that_follows(keeper, hamorii):
    keeper.post(f"{LIST}{hamorii.pk}/edit/", form_data(hamorii, humidity_min="50"))
    Taxon.objects.filter(pk=hamorii.pk).update(seeded={**hamorii.seeded, "fixture": "an older one"})
    assert not taxa.seed().unchanged
    after = Taxon.objects.get(pk=hamorii.pk)
    assert after.humidity_min == 50
    assert after.sources["humidity"].startswith("the keeper's own")


def test_a_listing_is_added_from_the_same_page(keeper):
    taxon = Taxon.objects.get(name="Avicularia avicularia")
    new = {"listings-0-entry": "Appendix II", "listings-0-since": "2026-03-05", "listings-0-as_of": "2026-03-05"}
    assert keeper.post(f"{LIST}{taxon.pk}/edit/", form_data(taxon, **new)).status_code == 302
    assert taxa.listing_on(taxon, date(2026, 3, 5))
    assert not taxa.listing_on(taxon, date(2026, 3, 4))


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        ({"name": ""}, "required"),
        ({"name": "brachypelma  HAMORII"}, "is in the list already"),
        ({"name": "Brachypelma albopilosum"}, "another name of Tliltocatl albopilosus"),
        ({"other_names": "Brachypelma hamorii"}, "a taxon of its own"),
        ({"other_names": "Haplopelma lividum"}, "leads to Cyriopagopus lividus already"),
        ({"humidity_min": "80", "humidity_max": "60"}, "ends at 60, before it begins at 80"),
        ({"humidity_max": "140"}, "between 0 and 100"),
        ({"celsius_min": "-40"}, "between -5 and 50"),
        ({"adult_size_min_mm": "0"}, "between 0.5 and 500"),
        ({"clutch_min": "-3"}, "greater than or equal to 0"),
        ({"venom_class": "7"}, "3"),
        ({"sac_months_max": "nan"}, "Enter a number"),
        ({"listings-0-entry": "Appendix II", "listings-0-as_of": "soon"}, "valid date"),
    ],
)
def test_bad_input_is_refused_beside_its_field_and_stays_typed(keeper, changes, sentence):
    answer = keeper.post(f"{LIST}new/", form_data(**changes))
    assert answer.status_code == 422
    assert sentence in text_of(answer).replace("&#x27;", "'")
    typed = [value for value in changes.values() if value]
    assert all(str(value) in answer.content.decode() for value in typed)
    assert Taxon.objects.count() == 97


def test_what_hangs_on_a_default_is_worked_out_anew(keeper, hamorii):
    specimen = keep_one(hamorii, acquired_earliest="2026-01-01", acquired_latest="2026-01-01")
    assert Due.objects.get(specimen=specimen, kind="feed").facts["interval"] == 10
    data = form_data(hamorii)
    data.pop("slow")
    assert keeper.post(f"{LIST}{hamorii.pk}/edit/", data).status_code == 302
    assert Due.objects.get(specimen=specimen, kind="feed").facts["interval"] == 7


def test_a_form_sent_twice_is_one_entry(keeper):
    data = form_data()
    first, second = (keeper.post(f"{LIST}new/", data) for _ in range(2))
    assert first.headers["Location"] == second.headers["Location"]
    assert Receipt.objects.get().label == "Entered Xenesthis intermedia"
    assert reverse("collection:taxon-detail", args=[Taxon.objects.latest("pk").pk]) == first.headers["Location"]


def test_an_undone_edit_gives_the_other_names_back_too(keeper):
    taxon = Taxon.objects.filter(other_names__isnull=False).first()
    before = set(taxon.other_names.values_list("name", flat=True))
    keeper.post(f"{taxon.get_absolute_url()}edit/", form_data(taxon, other_names="Brachypelma novum"))
    assert set(taxon.other_names.values_list("name", flat=True)) == {"Brachypelma novum"}
    keeper.post(reverse("collection:undo", args=[Receipt.objects.latest("pk").pk]))
    assert set(taxon.other_names.values_list("name", flat=True)) == before


def test_one_month_and_one_year_are_said_as_one():
    figures = figures_of(Taxon(name="A b", group="mantis", sac_months_min=1, emergence_weeks_max=1, life_male="1"))
    said = {figure.label: figure.said for figure in figures}
    assert (said["Pairing to first ootheca"], said["Laying to hatching"]) == ("1 month", "1 week")
    assert said["Life of a male"] == "1 year"
