"""Sex evidence of a tray by thumb: one way of looking, a tap an animal, one entry, one undo."""

from datetime import date

import pytest
from django.urls import reverse

from collection.models import Receipt, SexEvidence
from tests import factories as make

pytestmark = [pytest.mark.django_db, pytest.mark.time_machine(make.NOW, tick=False)]
MANY = "/animals/looks/"
SKIN = date(2026, 11, 20)


@pytest.fixture
def tray():
    """Thirty juveniles of one clutch with a skin each, 40 mm across the legs."""
    return make.tray(day=SKIN, instar=6, leg_span_mm=40)


def of(group, number=2, **taxon):
    kind = make.TaxonFactory(group=group, **taxon)
    return [make.SpecimenFactory(taxon=kind) for _ in range(number)]


def tapped(animals, finding, **more):
    return {"day": "today", "lens": "loupe", **{f"a{one.pk}": finding for one in animals}, **more}


def page(client, query=""):
    return " ".join(client.get(f"{MANY}{query}").content.decode().split())


def post(client, data, query=""):
    return client.post(f"{MANY}{query}", data)


def test_thirty_skins_are_one_entry_and_the_verdicts_follow(keeper_client, tray):
    answer = post(keeper_client, tapped(tray[:18], "female") | tapped(tray[18:27], "male"), "?clutch=B-001/1")
    assert answer.status_code == 302
    assert Receipt.objects.get().label == "Sex evidence of 27 animals"
    assert {make.fresh(one).standing.sex for one in tray[:18]} == {"probably_female"}
    assert {make.fresh(one).standing.sex for one in tray[18:27]} == {"probably_male"}
    assert {make.fresh(one).standing.sex for one in tray[27:]} == {"unsexed"}


def test_a_look_is_of_the_last_skin_at_its_size_with_the_lens_of_all(keeper_client, tray):
    post(keeper_client, tapped(tray[:1], "female", looked_by="Ada"))
    look = SexEvidence.objects.get()
    assert (look.method, look.molt.earliest, look.size_mm, look.lens) == ("exuvia", SKIN, 40, "loupe")
    assert (look.looked_by, look.earliest, look.confident, look.intact) == ("Ada", make.TODAY, True, True)


def test_what_the_looks_changed_stands_on_the_page_that_follows(keeper_client, tray):
    said = keeper_client.get(post(keeper_client, tapped(tray[:2], "female") | tapped(tray[2:3], "unclear")).url)
    text = " ".join(said.content.decode().split())
    assert "3 looked at, and now <b>2</b> probably female, <b>1</b> unsexed." in text
    assert "Exuvia: female at 40 mm on 4 December 2026: smaller structure, more often not seen." in text
    assert text.index("S-02") < text.index("S-03")
    assert 'data-label="before">50 %' in text


def test_the_whole_entry_is_taken_back_and_nothing_is_left_on_the_page(keeper_client, tray):
    onward = post(keeper_client, tapped(tray, "female")).url
    keeper_client.post(reverse("collection:undo", args=[Receipt.objects.get().pk]))
    assert not SexEvidence.objects.exists()
    assert {make.fresh(one).standing.sex for one in tray} == {"unsexed"}
    assert "What the looks changed" not in keeper_client.get(onward).content.decode()


def test_a_second_look_is_appended_and_the_first_one_stays(keeper_client, tray):
    for finding in ("male", "female"):
        post(keeper_client, tapped(tray[:1], finding))
    assert list(SexEvidence.objects.values_list("finding", "withdrawn")) == [("male", ""), ("female", "")]
    assert make.fresh(tray[0]).standing.sex == "probably_female"  # one person, one skin: the later look counts
    assert "last look female, today" in page(keeper_client)


def test_a_skin_has_its_own_day_may_be_torn_and_the_look_unsure(keeper_client, tray):
    one, two = tray[:2]
    older = make.molted(one, date(2026, 12, 2), instar=7)
    behind = {f"d{one.pk}": "2026-11-25", f"t{one.pk}": "on", f"u{two.pk}": "on", f"s{two.pk}": "61"}
    post(keeper_client, tapped([one, two], "male", **behind))
    first, second = SexEvidence.objects.order_by("specimen__code")
    assert (first.earliest, first.molt.earliest, first.intact) == (date(2026, 11, 25), SKIN, False)
    assert first.molt != older
    assert (second.confident, second.size_mm) == (False, 61)


@pytest.mark.parametrize(
    ("more", "sentence"),
    [
        ({}, "Nothing is tapped. Tap what you saw of each that you looked at."),
        ({"t": "on"}, "Tap what you saw, or take back what is folded behind it."),
        ({"a": "both"}, "Select a valid choice."),
        ({"a": "female", "s": "9000"}, "Write a number from 0.1 to 700."),
        ({"a": "female", "d": "2027-01-01"}, "This day lies in the future."),
    ],
)
def test_what_cannot_be_is_refused_beside_the_row_and_stays_tapped(keeper_client, tray, more, sentence):
    data = {"day": "today", "lens": "microscope", **{f"{name}{tray[3].pk}": value for name, value in more.items()}}
    answer = post(keeper_client, data)
    said = answer.content.decode()
    assert (answer.status_code, SexEvidence.objects.exists()) == (422, False)
    assert said.count(sentence) == 1
    assert "checked" in said[(at := said.index('value="microscope"')) : at + 60]


def test_the_lens_of_the_last_look_is_offered_again(keeper_client, tray):
    post(keeper_client, tapped(tray[:1], "female", lens="microscope"))
    said = page(keeper_client)
    at = said.index('value="microscope"')
    assert "checked" in said[at : at + 60]


def test_several_groups_are_not_mixed_but_chosen_from(keeper_client):
    of("scorpion")
    of("mantis", 3)
    said = page(keeper_client)
    assert "each is sexed in its own way" in said
    assert '?group=mantis">Mantis <span class="quiet">3</span>' in said
    assert "<form" not in said[said.index("<main") : said.index("</main>")]
    assert "Segments counted from below" in page(keeper_client, "?group=mantis")


def test_a_post_for_mixed_groups_writes_nothing(keeper_client):
    scorpions = of("scorpion") + of("mantis")
    post(keeper_client, tapped(scorpions, "female"))
    assert not SexEvidence.objects.exists()


def test_segments_are_kept_as_counted_with_the_instar_of_the_nymph(keeper_client):
    six, eight = of("mantis")
    for one in (six, eight):
        make.molted(one, SKIN, instar=4, numbering="L")
    post(keeper_client, {"day": "today", f"a{six.pk}": "female", f"a{eight.pk}": "male"})
    assert list(SexEvidence.objects.order_by("specimen__code").values_list("counted", "instar_then", "molt")) == [
        (6, 4, None),
        (8, 4, None),
    ]
    assert make.fresh(six).standing.sex_probability == pytest.approx(0.80 / 0.92)  # hard to count before L5


RANGES = {"pectines_female_min": 18, "pectines_female_max": 25, "pectines_male_min": 24, "pectines_male_max": 30}


def test_teeth_counted_say_the_finding_by_the_taxons_ranges(keeper_client):
    one, two = of("scorpion", **RANGES)
    post(keeper_client, {"day": "today", "lens": "loupe", f"n{one.pk}": "29", f"n{two.pk}": "19"})
    assert list(SexEvidence.objects.order_by("specimen__code").values_list("finding", "counted")) == [
        ("male", 29),
        ("female", 19),
    ]


def test_a_count_against_the_tap_and_one_that_nothing_is_known_of_are_refused(keeper_client):
    known, unknown = of("scorpion", 1, **RANGES)[0], make.SpecimenFactory(taxon__group="scorpion")
    answer = post(keeper_client, {"day": "today", f"n{known.pk}": "29", f"a{known.pk}": "female"})
    assert "29 says male here, not female. Check the count." in answer.content.decode()
    answer = post(keeper_client, {"day": "today", f"n{unknown.pk}": "29"})
    assert "tap what it looks like" in answer.content.decode()


SPIDERS = ("exuvia", "spermathec", "book lung", "hooks", "epigyn", "leg span", "torn", "furrow")


@pytest.mark.parametrize(
    ("group", "own", "strange"),
    [
        ("scorpion", "Pectines", (*SPIDERS, "segments", "gonopod")),
        ("mantis", "six", (*SPIDERS, "pectine", "papill", "naked eye")),
        ("millipede", "gonopods", (*SPIDERS, "pectine")),
        ("true_spider", "epigyne", ("spermathec", "pectine", "torn")),
        ("beetle", "Seller", (*SPIDERS, "pectine", "segments")),
    ],
)
def test_each_group_is_asked_in_its_own_words(keeper_client, group, own, strange):
    of(group)
    said = page(keeper_client)
    said = said[said.index("<main") : said.index("</main>")]
    assert own in said
    assert [word for word in strange if word in said.lower()] == []


def test_a_taxon_with_nothing_to_show_is_left_out_and_counted(keeper_client):
    of("true_spider", 2, name="Fictor laminatus")
    of("true_spider", 1, name="Fictor nudus", no_epigyne=True)
    said = page(keeper_client)
    assert "1 more has nothing to show for this and is not listed." in said
    assert "3 animals." in page(keeper_client, "?method=palps")


def test_groups_cultures_and_who_has_left_are_not_listed(keeper_client, tray):
    make.SpecimenFactory(code="GROUP-1", kind="group")
    make.died(make.SpecimenFactory(code="DEAD-1"), date(2026, 11, 1))
    said = page(keeper_client)
    assert "S-01" in said
    assert not any(code in said for code in ("GROUP-1", "DEAD-1"))


def test_an_empty_tray_says_what_would_stand_here(keeper_client):
    assert "No single animal fits here." in page(keeper_client)


def test_only_the_unsexed_can_be_listed(keeper_client, tray):
    post(keeper_client, tapped(tray[:1], "female"))
    assert "S-01" not in page(keeper_client, "?sex=unsexed")


@pytest.mark.parametrize("after", ["0", "x", "99999", "²", "9" * 30])
def test_a_made_up_entry_shows_nothing(keeper_client, tray, after):
    assert "What the looks changed" not in page(keeper_client, f"?after={after}")


def test_the_form_counts_once(keeper_client, tray):
    data = tapped(tray[:2], "female", once="abc")
    assert post(keeper_client, data).url == post(keeper_client, data).url
    assert SexEvidence.objects.count() == 2


def test_it_is_the_keepers_to_do(helper_client, tray):
    assert post(helper_client, tapped(tray[:1], "female")).status_code == 403
    assert MANY not in helper_client.get("/animals/molts/").content.decode()


def test_it_is_reached_from_the_register_the_tray_and_its_molts(keeper_client, tray):
    place = make.place("Tray", "tray")
    make.housed(tray[0], place=place)
    for address in ("/animals/", place.get_absolute_url(), "/animals/molts/"):
        assert MANY in keeper_client.get(address).content.decode()
