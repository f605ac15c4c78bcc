"""What is wrong: told by whoever sees it, opened, looked at again, closed, taken back, and seen where it matters."""

from datetime import date, timedelta

import pytest
from django.urls import reverse

from collection import attention, dues, health_services, receipts
from collection.health import Outcome
from collection.models import Contact, Due, HealthEntry, HealthIssue, Note, Receipt
from collection.services import Refused
from tests import factories as make

pytestmark = [pytest.mark.django_db, pytest.mark.time_machine(make.NOW, tick=False)]
TODAY = make.TODAY
OPENED = date(2026, 11, 20)


@pytest.fixture
def animal():
    return make.SpecimenFactory(code="B-1")


def said(animal, kind):
    due = Due.objects.filter(specimen=animal, kind=kind).first()
    if due is None:
        return None
    told = attention.due_kinds[kind].say(dues.as_stored(due), TODAY)
    return told.urgency.value, told.plate, told.sentence


def post(client, name, *args, **values):
    return client.post(reverse(f"collection:{name}", args=args), values)


def look(issue, day, **values):
    health_services.record_entry(
        HealthEntry(issue=issue, **{"earliest": day, "latest": day, "course": "same", **values})
    )


def test_an_open_issue_is_asked_for_in_its_rhythm(animal):
    issue = make.ill(animal, "mites", OPENED)
    urgency, plate, sentence = said(animal, "health")
    assert (urgency, plate) == ("over", "look again, 11 days over")  # every 3 days
    assert sentence == "Mites, suspected, since 20 November; last looked at 14 days ago, a look wanted after 3 days."
    look(issue, date(2026, 12, 2))
    assert animal.dues.get(kind="health").due_on == date(2026, 12, 5)


def test_the_keeper_may_name_the_day_or_the_rhythm(animal):
    issue = make.ill(animal, "mites", OPENED, again_days=10)
    assert animal.dues.get(kind="health").due_on == date(2026, 11, 30)
    look(issue, OPENED, again_on=date(2026, 12, 24))
    assert animal.dues.get(kind="health").due_on == date(2026, 12, 24)


def test_of_several_issues_the_first_due_is_said_and_the_others_named(animal):
    make.ill(animal, "limb", OPENED, sure=True)
    make.ill(animal, "dry", TODAY - timedelta(days=1), sure=True)
    assert (
        said(animal, "health")[2]
        == "Lost limb, since 20 November; last looked at 14 days ago, a look wanted after 7 days. Also: dehydration."
    )


def test_the_same_kind_is_not_opened_twice(animal):
    make.ill(animal, "mites", OPENED)
    with pytest.raises(Refused, match="says so already: mites"):
        make.ill(animal, "mites", TODAY)


def test_a_look_lies_between_the_opening_and_the_end(animal):
    issue = make.ill(animal, "mites", OPENED)
    with pytest.raises(Refused, match="the look lies before it"):
        look(issue, OPENED - timedelta(days=1))
    health_services.close_issue(issue, date(2026, 11, 25), Outcome.RESOLVED)
    with pytest.raises(Refused, match="closed on 2026-11-25"):
        look(issue, TODAY)
    assert said(animal, "health") is None


def test_an_issue_ends_neither_before_it_began_nor_before_its_last_look(animal):
    issue = make.ill(animal, "mites", OPENED)
    look(issue, date(2026, 12, 1))
    with pytest.raises(Refused, match="cannot have ended before"):
        health_services.close_issue(issue, OPENED - timedelta(days=1), Outcome.RESOLVED)
    with pytest.raises(Refused, match="still looked at on 2026-12-01"):
        health_services.close_issue(issue, date(2026, 11, 30), Outcome.RESOLVED)


def test_an_issue_can_be_opened_again_unless_another_says_the_same(animal):
    issue = make.ill(animal, "mites", OPENED)
    health_services.close_issue(issue, TODAY, Outcome.UNCLEAR)
    health_services.reopen_issue(issue)
    assert said(animal, "health") is not None
    health_services.close_issue(issue, TODAY, Outcome.UNCLEAR)
    make.ill(animal, "mites", TODAY)
    with pytest.raises(Refused, match="An open issue of this kind"):
        health_services.reopen_issue(issue)


def test_an_issue_with_looks_is_not_taken_away(animal):
    issue = make.ill(animal, "mites", OPENED)
    look(issue, TODAY)
    with pytest.raises(Refused, match="Looks were written down"):
        health_services.remove_issue(issue)


def test_a_helper_tells_and_the_keeper_makes_an_issue_of_it(helper_client, keeper_client, animal):
    assert post(helper_client, "concern-new", animal.pk, signs=["curled", "slow"], text="since noon").status_code == 302
    urgency, plate, sentence = said(animal, "concern")
    assert (urgency, plate) == ("due", "signs of dehydration")
    assert sentence.startswith("Legs curling under, slow or limp. since noon. Seen today.")
    note = Note.objects.get()
    assert post(helper_client, "concern-issue", note.pk, kind="dry").status_code == 403
    form = keeper_client.get(reverse("collection:concern-issue", args=[note.pk])).context["form"]
    assert form["kind"].value() == "dry"
    answer = post(keeper_client, "concern-issue", note.pk, kind="dry", seen="", on="2026-12-04")
    issue = HealthIssue.objects.get()
    assert answer.headers["Location"] == issue.get_absolute_url()
    assert (issue.kind, list(issue.notes.all()), said(animal, "concern")) == ("dry", [note], None)


def test_taking_the_issue_back_asks_for_the_answer_again(keeper_client, animal):
    note = make.worried(animal, "specks")
    post(keeper_client, "concern-issue", note.pk, kind="mites", on="2026-12-04")
    receipts.undo(Receipt.objects.get())
    assert not HealthIssue.objects.exists()
    assert said(animal, "concern")[1] == "something is wrong"


def test_what_turns_out_to_be_nothing_is_answered_with_a_reason(keeper_client, animal):
    note = make.worried(animal, text="sits oddly")
    assert post(keeper_client, "concern-answer", note.pk, set_aside=" ").status_code == 422
    assert post(keeper_client, "concern-answer", note.pk, set_aside="molting").status_code == 302
    assert said(animal, "concern") is None
    assert "Answered: molting" in keeper_client.get(animal.get_absolute_url()).content.decode()


def test_nothing_ticked_and_nothing_said_is_no_concern(helper_client, animal):
    answer = post(helper_client, "concern-new", animal.pk, text="")
    assert answer.status_code == 422
    assert "Tick what you see" in answer.content.decode()


def test_a_kind_that_the_group_cannot_have_is_refused(keeper_client):
    isopods = make.SpecimenFactory(taxon=make.TaxonFactory(group="isopod"), kind="culture")
    assert post(keeper_client, "health-new", isopods.pk, kind="nematodes").status_code == 422
    text = keeper_client.get(reverse("collection:health-new", args=[isopods.pk])).content.decode()
    assert "nematodes" not in text
    assert "abdomen" not in keeper_client.get(reverse("collection:concern-new", args=[isopods.pk])).content.decode()


def test_the_issue_page_shows_cautions_with_their_sources_and_whom_to_ask(keeper_client, animal):
    issue = make.ill(animal, "nematodes", OPENED)
    look(issue, TODAY, course="worse", seen="white mass again", mass_g=14.2)
    Contact.objects.create(name="Dr Invented", phone="0123", vet=True)
    text = keeper_client.get(issue.get_absolute_url()).content.decode()
    for words in (
        "Pizzi, Carta &amp; George 2003",
        "No cure is known",
        "<b>Dr Invented</b>, 0123",
        "white mass again",
        "14.2",
    ):
        assert words in text
    assert "May spread" in text


def test_a_form_for_a_look_needs_something_seen_and_a_next_day_after_it(keeper_client, animal):
    issue = make.ill(animal, "mites", OPENED)
    assert post(keeper_client, "health-entry-new", issue.pk).status_code == 422
    answer = post(keeper_client, "health-entry-new", issue.pk, course="better", again_on="2026-11-01")
    assert "The next look comes after this one." in answer.content.decode()
    assert post(keeper_client, "health-entry-new", issue.pk, course="better").status_code == 302
    assert HealthEntry.objects.get().course == "better"


def test_the_look_that_is_due_first_is_one_step_away(keeper_client, animal):
    make.ill(animal, "limb", OPENED)
    first = make.ill(animal, "dry", OPENED)
    answer = keeper_client.get(reverse("collection:health-look", args=[animal.pk]))
    assert answer.headers["Location"] == f"/health/{first.pk}/look/"


def test_an_issue_is_closed_on_its_page_and_a_death_is_logged_elsewhere(keeper_client, animal):
    issue = make.ill(animal, "dry", OPENED)
    assert post(keeper_client, "health-close", issue.pk, outcome="died", on="2026-12-01").status_code == 422
    assert post(keeper_client, "health-close", issue.pk, outcome="resolved", on="2026-12-01").status_code == 302
    issue.refresh_from_db()
    assert (issue.closed_on, issue.outcome) == (date(2026, 12, 1), "resolved")


@pytest.mark.parametrize(
    ("choice", "codes"),
    [
        ("ill", {"Ill", "Mites"}),
        ("spreads", {"Mites"}),
        ("concern", {"Odd"}),
        ("quarantine", {"New"}),
        ("well", {"Well"}),
    ],
)
def test_the_register_is_narrowed_by_health(keeper_client, choice, codes):
    found = {code: make.SpecimenFactory(code=code) for code in ("Ill", "Mites", "Odd", "New", "Well")}
    make.ill(found["Ill"], "limb", OPENED)
    make.ill(found["Mites"], "mites", OPENED)
    make.worried(found["Odd"], "slow")
    make.apart(found["New"], OPENED, TODAY)
    answer = keeper_client.get(reverse("collection:specimen-list"), {"health": choice})
    assert {specimen.code for specimen, _ in answer.context["rows"]} == codes


def test_the_register_and_the_head_of_the_page_say_it_in_words(keeper_client, animal):
    make.ill(animal, "mites", OPENED)
    make.apart(animal, OPENED, date(2026, 12, 20))
    words = "ill: mites, suspected; in quarantine until 2026-12-20"
    assert words in keeper_client.get(reverse("collection:specimen-list")).content.decode()
    assert f"I{words[1:]}." in keeper_client.get(animal.get_absolute_url()).content.decode()


def test_all_of_it_stands_in_the_history(keeper_client, animal):
    issue = make.ill(animal, "mites", OPENED, seen="three on the carapace")
    look(issue, date(2026, 12, 1), seen="one left")
    health_services.close_issue(issue, TODAY, Outcome.RESOLVED, "gone")
    text = keeper_client.get(reverse("collection:specimen-history", args=[animal.pk])).content.decode()
    for words in ("three on the carapace", "one left", "mites, suspected: resolved. gone"):
        assert words in text


def test_an_issue_of_an_animal_that_left_asks_for_nothing(animal):
    make.ill(animal, "mites", OPENED)
    make.left(animal, TODAY)
    assert said(animal, "health") is None


def test_what_died_with_its_animal_is_not_closed_anew(animal):
    issue = make.ill(animal, "mites", OPENED)
    make.died(animal, TODAY)
    issue.refresh_from_db()
    with pytest.raises(Refused, match="Correct its death first"):
        health_services.close_issue(issue, TODAY, Outcome.RESOLVED)
    issue.refresh_from_db()
    assert issue.outcome == "died"
