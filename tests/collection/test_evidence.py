"""Sex evidence as a ledger: appended, withdrawn, mended by a new entry; and the table it is weighed by."""

from datetime import date

import pytest
from django.core.management import call_command
from django.urls import reverse

from collection import evidence, taxa
from collection.forms.evidence import EvidenceForm, LikelihoodForm
from collection.models import Due, Receipt, SexEvidence, SexLikelihood, Standing
from collection.models.likelihoods import likelihoods_in_force
from collection.sexing import DEFAULT, Likelihoods
from tests import factories as make

pytestmark = [pytest.mark.django_db, pytest.mark.time_machine(make.NOW, tick=False)]
DAY = date(2026, 5, 10)
SURE_OF_SACS = {"female_if_female": "90", "female_if_male": "30", "because": "my own twenty"}


def standing(animal):
    return make.fresh(animal).standing


def log(client, animal, **data):
    return client.post(reverse("collection:evidence-new", args=[animal.pk]), data)


def mend(client, row, **data):
    data = {"method": row.method, "finding": row.finding, "confident": "on", "intact": "on", "on": "2026-05-10"} | data
    return client.post(reverse("collection:evidence-edit", args=[row.specimen_id, row.pk]), data)


def likelihood(name, key):
    return reverse(f"collection:likelihood-{name}", args=[key])


def fields(**taxon):
    return set(EvidenceForm(specimen=make.SpecimenFactory(**{f"taxon__{k}": v for k, v in taxon.items()})).fields)


def test_a_mended_entry_is_withdrawn_and_logged_anew(keeper_client):
    animal = make.SpecimenFactory()
    row = make.looked(animal, "male", DAY, looked_by="me", note="first skin")
    answer = mend(keeper_client, row, finding="female", lens="loupe", size_mm="120", because="slip of the thumb")
    assert answer.status_code == 302
    wrong, right = SexEvidence.objects.order_by("pk")
    assert (wrong.finding, wrong.note, wrong.withdrawn) == ("male", "first skin", "slip of the thumb")
    assert (right.finding, right.mends, right.withdrawn) == ("female", wrong, "")
    assert standing(animal).sex == "probably_female"
    assert "Logged anew for 2026-05-10" in keeper_client.get(f"/animals/{animal.pk}/evidence/").content.decode()


def test_mending_starts_from_what_was_written_and_needs_to_say_what_was_wrong(keeper_client):
    row = make.looked(make.SpecimenFactory(), "male", DAY, looked_by="Ada", size_mm=44.5)
    said = keeper_client.get(reverse("collection:evidence-edit", args=[row.specimen_id, row.pk])).content.decode()
    assert 'value="44.5"' in said
    assert 'value="Ada"' in said
    assert mend(keeper_client, row, finding="female").status_code == 422
    assert SexEvidence.objects.get().finding == "male"


def test_an_undone_mend_leaves_the_first_entry_as_it_was(keeper_client):
    animal = make.SpecimenFactory()
    row = make.looked(animal, "male", DAY)
    before = standing(animal).sex_probability
    mend(keeper_client, row, finding="female", because="slip")
    keeper_client.post(reverse("collection:undo", args=[Receipt.objects.latest("pk").pk]))
    assert SexEvidence.objects.get().withdrawn == ""
    assert standing(animal).sex_probability == before


def test_what_was_withdrawn_is_not_mended(keeper_client):
    row = make.looked(make.SpecimenFactory(), "male", DAY)
    evidence.withdraw(row, "another skin")
    answer = mend(keeper_client, row, because="slip")
    assert "withdrawn before" in answer.content.decode()
    assert SexEvidence.objects.count() == 1


@pytest.mark.parametrize("event", ["molt", "sac"])
def test_evidence_that_came_with_an_event_goes_only_with_it(keeper_client, event):
    animal = make.SpecimenFactory()
    make.molted(animal, DAY, matured=True) if event == "molt" else make.laid(animal, DAY)
    row = SexEvidence.objects.get()
    for answer in (
        mend(keeper_client, row, because="slip"),
        keeper_client.post(reverse("collection:evidence-withdraw", args=[row.pk]), {"withdrawn": "no"}),
    ):
        assert f"came by itself with a {event}" in answer.content.decode()
    assert SexEvidence.objects.get().withdrawn == ""


def test_groups_are_asked_only_for_what_they_have():
    skin = {"intact", "molt", "lens", "size_mm", "carapace_mm"}
    assert skin <= fields(group="tarantula")
    assert not {"counted", "instar_then"} & fields(group="tarantula")
    assert {"counted", "lens"} <= fields(group="scorpion")
    assert not {"intact", "molt", "size_mm"} & fields(group="scorpion")
    assert {"counted", "instar_then"} <= fields(group="mantis")
    assert not (skin | {"counted"}) & fields(group="isopod")


def test_no_word_of_a_spider_stands_on_the_form_of_a_mantis(keeper_client):
    mantis = make.SpecimenFactory(taxon__group="mantis")
    said = keeper_client.get(reverse("collection:evidence-new", args=[mantis.pk])).content.decode().lower()
    assert "six in a female, eight in a male" in said
    for word in ("exuvia", "spermathec", "hooks", "pectine", "epigyn", "egg sac", "book lung"):
        assert word not in said


def test_a_count_gives_the_finding_and_is_held_against_it(keeper_client):
    mantis = make.SpecimenFactory(taxon__group="mantis")
    assert log(keeper_client, mantis, method="segments", counted="8", instar_then="6").status_code == 302
    assert SexEvidence.objects.get().finding == "male"
    answer = log(keeper_client, mantis, method="segments", counted="6", finding="male")
    assert "6 says female here, not male. Check the count." in answer.content.decode()
    answer = log(keeper_client, mantis, method="seller", counted="6", finding="male")
    assert "Nothing is counted with" in answer.content.decode()
    assert "Say what you saw" in log(keeper_client, mantis, method="segments").content.decode()


def test_pectines_weigh_by_the_ranges_of_the_taxon(keeper_client):
    ranges = {"pectines_female_min": 18, "pectines_female_max": 25, "pectines_male_min": 24, "pectines_male_max": 30}
    scorpion = make.SpecimenFactory(taxon__group="scorpion", **{f"taxon__{k}": v for k, v in ranges.items()})
    log(keeper_client, scorpion, method="pectines", counted="29", confident="on")
    assert standing(scorpion).sex_probability == pytest.approx(0.03 / 0.98)
    log(keeper_client, scorpion, method="pectines", counted="25", looked_by="another", confident="on")
    assert SexEvidence.objects.latest("pk").finding == "unclear"
    assert standing(scorpion).sex_probability == pytest.approx(0.03 / 0.98)
    unknown = make.SpecimenFactory(taxon__group="scorpion")
    log(keeper_client, unknown, method="pectines", counted="29", finding="male", confident="on")
    assert standing(unknown).sex_probability == pytest.approx(0.15 / 0.95)


def test_segments_of_a_small_nymph_weigh_less(keeper_client):
    for instar, female in ((4, 0.80 / 0.92), (5, 0.97 / 0.99)):
        mantis = make.SpecimenFactory(taxon__group="mantis")
        log(keeper_client, mantis, method="segments", counted="6", instar_then=str(instar), confident="on")
        assert standing(mantis).sex_probability == pytest.approx(female)


def test_a_chosen_skin_brings_its_own_size_and_is_not_of_the_future(keeper_client):
    animal = make.SpecimenFactory()
    old = make.molted(animal, date(2026, 1, 5), leg_span_mm=25)
    new = make.molted(animal, date(2026, 6, 5), leg_span_mm=70)
    data = {"method": "exuvia", "finding": "female", "intact": "on", "lens": "loupe", "size_mm": "70"}
    log(keeper_client, animal, molt=old.pk, **data)
    assert SexEvidence.objects.get().size_mm == 25
    answer = log(keeper_client, animal, molt=new.pk, on="2026-03-01", **data)
    assert "This molt came later" in answer.content.decode()


def test_the_keepers_figures_move_every_verdict_and_can_be_taken_back(keeper_client):
    dam = make.SpecimenFactory()
    make.laid(dam, DAY)
    assert standing(dam).sex_probability == pytest.approx(0.999)
    assert keeper_client.post(likelihood("edit", "sac"), SURE_OF_SACS).status_code == 302
    assert standing(dam).sex_probability == pytest.approx(0.75)
    assert "yours" in keeper_client.get(reverse("collection:likelihood-list")).content.decode()
    keeper_client.post(reverse("collection:undo", args=[Receipt.objects.latest("pk").pk]))
    assert standing(dam).sex_probability == pytest.approx(0.999)
    assert likelihoods_in_force() == DEFAULT


def everything_derived():
    standings = Standing.objects.order_by("pk").values()
    return list(standings), list(Due.objects.order_by("specimen", "kind").values("specimen", "kind", "due_on", "facts"))


def test_what_a_change_of_the_table_leaves_is_what_a_rebuild_would_leave():
    clashing = make.female()
    make.looked(clashing, "male", DAY, looked_by="another")
    make.laid(make.SpecimenFactory(), DAY)
    make.male()
    likely = DEFAULT["exuvia, 60 mm and more"]
    evidence.set_likelihood("exuvia, 60 mm and more", likely._replace(female_if_male=0.3, unclear_if_male=0.05))
    after = everything_derived()
    call_command("rebuild_dues")
    assert everything_derived() == after


def test_a_row_is_reset_to_what_was_shipped(keeper_client):
    dam = make.SpecimenFactory()
    make.laid(dam, DAY)
    keeper_client.post(likelihood("edit", "sac"), SURE_OF_SACS)
    assert keeper_client.post(likelihood("reset", "sac")).status_code == 302
    assert standing(dam).sex_probability == pytest.approx(0.999)
    assert not SexLikelihood.objects.exists()


def test_the_keepers_figures_stay_over_seeding_and_rebuilding():
    dam = make.SpecimenFactory()
    make.laid(dam, DAY)
    evidence.set_likelihood("sac", Likelihoods(0.9, 0.3, 0.001, 0.001, 0.5, 0.5, "my own twenty"))
    taxa.seed()
    call_command("rebuild_dues")
    assert standing(dam).sex_probability == pytest.approx(0.75)


def test_what_is_called_unclear_is_the_rest(keeper_client):
    given = {"female_if_female": "80", "female_if_male": "5", "male_if_male": "70", "male_if_female": "10"}
    keeper_client.post(likelihood("edit", "exuvia-30-60-mm"), given | {"because": "my own"})
    row = SexLikelihood.objects.get()
    assert (row.unclear_if_female, row.unclear_if_male) == pytest.approx((0.10, 0.25))


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ({"female_if_female": "100"}, "Write a number from 0.1 to 99.9."),
        ({"female_if_female": "0"}, "Write a number from 0.1 to 99.9."),
        ({"female_if_female": "nan"}, "Enter a number."),
        ({"male_if_female": "30"}, "together stay below 100"),
        ({"because": ""}, "This field is required."),
    ],
)
def test_certainty_and_sums_above_a_hundred_are_refused(keeper_client, typed, says):
    given = {"female_if_female": "80", "female_if_male": "5", "male_if_male": "70", "male_if_female": "10"}
    answer = keeper_client.post(likelihood("edit", "exuvia-30-60-mm"), given | {"because": "mine"} | typed)
    assert answer.status_code == 422
    assert says in answer.content.decode()
    assert not SexLikelihood.objects.exists()


@pytest.mark.parametrize(("row", "asked"), [("sac", "female"), ("mature_male", "male"), ("palps", "male")])
def test_a_row_asks_only_for_what_weighs(row, asked):
    names = set(LikelihoodForm(row=row, now=DEFAULT[row]).fields) - {"because"}
    assert names == {f"{asked}_if_female", f"{asked}_if_male"}


def test_a_row_that_is_none_is_not_found(keeper_client):
    assert keeper_client.get(likelihood("edit", "horoscope")).status_code == 404


def test_a_dead_animals_skin_can_still_be_read(keeper_client):
    animal = make.SpecimenFactory()
    make.died(animal, DAY)
    answer = log(keeper_client, animal, method="exuvia", finding="female", confident="on", intact="on", on="2026-06-01")
    assert answer.status_code == 302


@pytest.mark.time_machine("2026-12-03T23:30:00+00:00", tick=False)  # half past midnight on the 4th in the house
def test_a_withdrawal_after_midnight_bears_the_day_of_the_house(keeper_client):
    row = make.looked(make.SpecimenFactory(), "male", DAY)
    keeper_client.post(reverse("collection:evidence-withdraw", args=[row.pk]), {"withdrawn": "another skin"})
    said = keeper_client.get(f"/animals/{row.specimen_id}/evidence/").content.decode()
    assert "2026-12-04 by" in said


def test_a_second_phone_does_not_withdraw_once_more(keeper_client):
    row = make.looked(make.SpecimenFactory(), "male", DAY)
    address = reverse("collection:evidence-withdraw", args=[row.pk])
    keeper_client.post(address, {"withdrawn": "another skin"})
    answer = keeper_client.post(address, {"withdrawn": "a slip"})
    assert "withdrawn before: another skin" in answer.content.decode()
    assert SexEvidence.objects.get().withdrawn == "another skin"
