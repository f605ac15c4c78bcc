"""What the forms of breeding know beforehand, and the refusals of their own."""

from datetime import date

import pytest
from django.urls import reverse

from breeding.forms import PairingForm, SacForm, SignForm
from breeding.models import EggSac, HeadCount, Meeting, Pairing, SpermWeb
from tests import factories as make

pytestmark = [pytest.mark.django_db, pytest.mark.time_machine(make.NOW, tick=False)]
DAY = date(2026, 9, 1)


@pytest.fixture
def dam():
    return make.female(code="F-1")


@pytest.fixture
def sire(dam):
    return make.male(code="M-1", taxon=dam.taxon)


def post(client, name, record, **data):
    return client.post(reverse(f"breeding:{name}", args=[record.pk]), data)


def beside(answer, field):
    """What is said beside a field of a refused form."""
    assert answer.status_code == 422
    return answer.content.decode().partition(f'id="id_{field}_error">')[2].partition("</p>")[0]


def test_a_pairing_is_logged_from_her_page(keeper_client, dam, sire):
    data = {"other": "m-1", "insertions_left": "2", "insertions_right": "1", "drumming": "True", "ending": "peace"}
    assert post(keeper_client, "pairing-new", dam, on="2026-09-01", **data).url == dam.get_absolute_url()
    meeting = Meeting.objects.get()
    assert (meeting.pairing.female, meeting.pairing.male) == (dam, sire)
    assert (meeting.insertions, meeting.drumming, meeting.ending) == (3, True, "peace")


def test_a_pairing_is_logged_from_his_page(keeper_client, dam, sire):
    post(keeper_client, "pairing-new", sire, other="F-1", ending="unknown")
    assert (Pairing.objects.get().female, Pairing.objects.get().male) == (dam, sire)


def test_his_page_must_name_her_and_hers_need_not_name_him(keeper_client, dam, sire):
    assert PairingForm(specimen=sire).fields["other"].required
    assert not PairingForm(specimen=dam).fields["other"].required
    assert post(keeper_client, "pairing-new", sire, ending="unknown").status_code == 422
    assert post(keeper_client, "pairing-new", dam, ending="unknown").status_code == 302
    assert Pairing.objects.get().male is None


def test_insertions_that_nobody_could_see_are_not_none(keeper_client, dam):
    post(keeper_client, "pairing-new", dam, ending="unknown")
    post(keeper_client, "pairing-new", dam, ending="unknown", insertions_left="0", on="2026-09-02")
    assert [meeting.insertions for meeting in Meeting.objects.order_by("id")] == [None, 0]


def test_two_taxa_are_refused_beside_the_other_until_a_reason_is_given(keeper_client, dam):
    make.male(code="M-9")
    data = {"other": "M-9", "ending": "unknown"}
    assert "Say why two taxa are paired" in beside(post(keeper_client, "pairing-new", dam, **data), "other")
    assert post(keeper_client, "pairing-new", dam, **data, cross_reason="the last of both").status_code == 302


@pytest.mark.parametrize(("other", "says"), [("F-2", "that F-2 is a female"), ("F-1", "takes two animals")])
def test_who_cannot_be_the_male_is_refused_beside_the_other(keeper_client, dam, other, says):
    make.female(code="F-2", taxon=dam.taxon)
    data = {"other": other, "ending": "unknown"}
    said = beside(post(keeper_client, "pairing-new", dam, **data), "other")
    assert says in said
    assert not Pairing.objects.exists()


def test_one_more_meeting_of_the_two_joins_their_pairing(keeper_client, dam, sire):
    for day in ("2026-09-01", "2026-09-08"):
        post(keeper_client, "pairing-new", dam, on=day, other="M-1", ending="peace")
    assert (Pairing.objects.count(), Meeting.objects.count()) == (1, 2)


def test_a_meeting_after_her_molt_is_a_new_pairing(keeper_client, dam, sire):
    post(keeper_client, "pairing-new", dam, on="2026-09-01", other="M-1", ending="peace")
    make.molted(dam, date(2026, 10, 1))
    post(keeper_client, "pairing-new", dam, on="2026-11-01", other="M-1", ending="peace")
    assert Pairing.objects.count() == 2


def test_a_meeting_is_added_on_the_page_of_the_pairing(keeper_client, dam):
    pairing = make.paired(dam, DAY).pairing
    assert keeper_client.get(reverse("breeding:meeting-new", args=[pairing.pk])).status_code == 200
    assert (
        post(keeper_client, "meeting-new", pairing, on="2026-09-08", ending="peace").url == pairing.get_absolute_url()
    )
    assert pairing.meetings.count() == 2
    assert "in the future" in beside(post(keeper_client, "meeting-new", pairing, on="2026-12-05", ending="peace"), "on")


def test_a_meeting_is_corrected_and_moves_her_window(keeper_client, dam):
    meeting = make.paired(dam, DAY)
    before = dam.dues.get(kind="sac").due_on
    address = reverse("breeding:meeting-of-edit", args=[dam.pk, meeting.pk])
    assert keeper_client.post(address, {"on": "2026-09-11", "ending": "peace"}).status_code == 302
    assert (dam.dues.get(kind="sac").due_on - before).days == 10
    keeper_client.post(address, {"remove": "1"})
    assert not dam.dues.filter(kind="sac").exists()


@pytest.mark.parametrize(("group", "webbing"), [("tarantula", True), ("mantis", False)])
def test_signs_of_a_web_are_offered_to_who_builds_one(group, webbing):
    form = SignForm(specimen=make.SpecimenFactory(taxon__group=group))
    assert ("webbing" in dict(form.fields["kind"].choices)) is webbing


def test_a_female_makes_no_sperm_web(keeper_client, dam, sire):
    answer = post(keeper_client, "spermweb-new", dam)
    assert "The evidence says that F-1 is a female" in answer.content.decode()
    post(keeper_client, "spermweb-new", sire, note="under the bark")
    assert SpermWeb.objects.get().male == sire


def test_a_sac_is_of_the_kind_that_is_usual_for_the_taxon():
    assert SacForm(specimen=make.SpecimenFactory(taxon__sac_kind="fixed"))["kind"].value() == "fixed"
    assert SacForm(specimen=make.SpecimenFactory(taxon__sac_kind=""))["kind"].value() == "carried"


@pytest.mark.parametrize(
    ("data", "says"),
    [({"taken_on": "2026-08-31"}, "before it was laid"), ({"taken_on": "2026-12-05"}, "lies in the future")],
)
def test_a_sac_is_taken_after_it_was_laid_and_not_in_the_future(keeper_client, dam, data, says):
    answer = post(keeper_client, "sac-new", dam, on="2026-09-01", kind="carried", **data)
    assert says in beside(answer, "taken_on")
    assert not EggSac.objects.exists()


def test_a_sac_is_taken_and_ends(keeper_client, dam):
    sac = make.laid(dam, DAY)
    assert keeper_client.get(reverse("breeding:sac-state", args=[sac.pk])).status_code == 200
    data = {"taken_on": "2026-10-01", "incubator": "shelf", "outcome": "hatched", "ended_on": "2026-11-01"}
    assert post(keeper_client, "sac-state", sac, **data).url == sac.get_absolute_url()
    sac.refresh_from_db()
    assert (sac.taken_on, sac.outcome, sac.ended_on) == (date(2026, 10, 1), "hatched", date(2026, 11, 1))


@pytest.mark.parametrize(
    ("data", "field", "says"),
    [
        ({"outcome": "eaten"}, "ended_on", "An outcome needs its day"),
        ({"ended_on": "2026-11-01"}, "ended_on", "An outcome needs its day"),
        ({"taken_on": "2026-08-01"}, "taken_on", "The sac is of 2026-09-01."),
        ({"outcome": "eaten", "ended_on": "2026-08-01"}, "ended_on", "The sac is of 2026-09-01."),
        ({"taken_on": "2026-12-05"}, "taken_on", "lies in the future"),
        ({"outcome": "eaten", "ended_on": "2026-12-05"}, "ended_on", "lies in the future"),
    ],
)
def test_what_cannot_become_of_a_sac_is_refused_beside_its_field(keeper_client, dam, data, field, says):
    sac = make.laid(dam, DAY)
    assert says in beside(post(keeper_client, "sac-state", sac, **data), field)
    sac.refresh_from_db()
    assert (sac.taken_on, sac.outcome) == (None, "")


def test_heads_are_counted_on_the_page_of_the_sac(keeper_client, dam):
    sac = make.laid(dam, DAY)
    count = {"stage": "ewl", "how": "counted", "dead": "0"}
    assert keeper_client.get(reverse("breeding:count-new", args=[sac.pk])).status_code == 200
    assert post(keeper_client, "count-new", sac, **count, alive="90", on="2026-10-01").url == sac.get_absolute_url()
    opened = keeper_client.get(reverse("breeding:count-new", args=[sac.pk])).context["form"]
    assert opened["stage"].value() == count["stage"]  # it opens at what was counted last
    assert "There was no sac before" in beside(
        post(keeper_client, "count-new", sac, **count, alive="9", on="2026-08-01"), "on"
    )
    assert "3 too many" in beside(post(keeper_client, "count-new", sac, **count, alive="93"), "alive")
    assert "from 0 to 100,000" in beside(post(keeper_client, "count-new", sac, **count, alive="-1"), "alive")
    assert HeadCount.objects.count() == 1


@pytest.mark.parametrize("name", ["meeting-new", "count-new", "sac-state"])
def test_what_belongs_to_nothing_is_not_found(keeper_client, name):
    assert keeper_client.get(reverse(f"breeding:{name}", args=[999])).status_code == 404


@pytest.mark.parametrize("name", ["pairing-new", "sac-new", "spermweb-new"])
def test_breeding_is_the_keepers(helper_client, dam, name):
    assert helper_client.get(reverse(f"breeding:{name}", args=[dam.pk])).status_code == 403
