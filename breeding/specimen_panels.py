"""The breeding panel and the breeding log forms on an animal's page."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, timedelta
from functools import partial

from django.db.models import Count, Q, QuerySet
from django.utils.text import slugify

from breeding import kin, pairings, signs, watching, watchwords
from breeding.broodwords import OTHERS, WORDS, words_of
from breeding.hold_words import guarded_until, say_guarding
from breeding.kinship.words import say_inbreeding
from breeding.livelog import SPIDERS
from breeding.models import EggSac, Kin, Meeting, Pairing, PossibleSire, Sign, SpermWeb
from breeding.watchwords import CULTURES
from collection import panels, traces
from collection.dates import say_date
from collection.models import DeathCause, Due, Specimen
from collection.panels import Happening, LogForm, Panel, PanelKind
from collection.querysets import HERE
from collection.specimen_panels import alive, single
from collection.stages import Group

SHOWN = 12
NEWS_DAYS = 180
LOST_DAYS = 3  # assumption: a death logged so soon after a meeting that cost him is of that meeting


def _pairings(specimen: Specimen) -> QuerySet[Pairing]:
    return Pairing.objects.for_display().filter(female=specimen) | Pairing.objects.for_display().filter(male=specimen)


def breeding(specimen: Specimen, today: date) -> Panel | None:
    """The wait for a sac, pairings, signs, sacs and sperm webs."""
    ids = [specimen.pk]
    if traces.lacks(ids, Pairing, EggSac, Sign, SpermWeb):
        return None
    met = [] if traces.lacks(ids, Pairing) else list(_pairings(specimen)[:SHOWN])
    sacs = list(traces.some(ids, specimen.sacs.select_related("female").prefetch_related("head_counts"))[:SHOWN])
    seen = list(traces.some(ids, specimen.signs.all())[:SHOWN])
    webs = list(traces.some(ids, specimen.sperm_webs.all())[:SHOWN])
    if not any((met, sacs, seen, webs)):
        return None
    waiting = next(watching.waiting(Due.objects.of("sac").filter(specimen=specimen), today), None)
    context = {
        "pairings": met,
        "sacs": sacs,
        "signs": [(sign, signs.word_of(sign.kind, Group(specimen.taxon.group))) for sign in seen],
        "brood": words_of(Group(specimen.taxon.group)).brood,
        "webs": webs,
        "waiting": waiting,
        "ended": "" if waiting else _hope_ended(specimen, met, today),
        "axis": watching.axis(today),
        "today": today,
        "specimen": specimen,
    }
    return Panel("breeding/_panel_breeding.html", context)


def kindred(specimen: Specimen, today: date) -> Panel | None:
    """Parents, sac-mates and young in numbers; the pedigree has a page of its own."""
    if _alone(specimen):
        return None
    parents = Specimen.objects.in_bulk([pk for pk in (specimen.dam_id, specimen.sire_id) if pk is not None])
    stored = Kin.objects.filter(pk=specimen.pk).first()
    sires = traces.some([specimen.pk], specimen.possible_sires.select_related("male"))
    possible = [str(row) for row in sires]
    mates = kin.mates_of(specimen).count() if specimen.clutch else 0
    young = Specimen.objects.filter(Q(dam=specimen) | Q(sire=specimen)).aggregate(
        young=Count("pk"), here=Count("pk", filter=Q(standing__status__in=HERE))
    )
    if not (parents or possible or mates or young["young"]):
        return None
    context = {
        "dam": parents.get(specimen.dam_id),
        "sire": parents.get(specimen.sire_id),
        "possible": possible,
        "kin": stored,
        "words": say_inbreeding(stored.inbreeding) if stored else "",
        "mates": mates,
        **young,
    }
    return Panel("breeding/_panel_kin.html", context)


def _alone(specimen: Specimen) -> bool:
    """Whether it is known that no kin of it is on record."""
    born = specimen.dam_id or specimen.sire_id or specimen.clutch
    return not born and traces.lacks([specimen.pk], PossibleSire, Specimen)


def happenings(specimen: Specimen) -> Iterator[Happening]:
    """Meetings, signs, sacs and sperm webs as lines of the full history."""
    met = Meeting.objects.filter(pairing__in=_pairings(specimen)).select_related("pairing__female", "pairing__male")
    for meeting in met:
        detail = f"{meeting.pairing}, {meeting.get_ending_display()}"
        yield Happening(meeting.earliest, str(meeting.when), "meeting", detail)
    for sign in specimen.signs.all():
        yield Happening(sign.earliest, str(sign.when), "sign", signs.word_of(sign.kind, Group(specimen.taxon.group)))
    brood = words_of(Group(specimen.taxon.group)).brood
    for sac in specimen.sacs.all():
        yield Happening(sac.earliest, str(sac.when), brood, sac.get_outcome_display() or sac.get_kind_display())
    for web in specimen.sperm_webs.all():
        yield Happening(web.earliest, str(web.when), "sperm web", web.note)


def _may_pair(specimen: Specimen) -> bool:
    return single(specimen) and alive(specimen) and Group(specimen.taxon.group) not in CULTURES


def _maybe_female(specimen: Specimen) -> bool:
    return _may_pair(specimen) and not specimen.standing.probably_male


def _maybe_male(specimen: Specimen) -> bool:
    return _may_pair(specimen) and not specimen.standing.probably_female


def _webs(specimen: Specimen) -> bool:
    """Perhaps a male of those who carry sperm in their palps, out of a web of their own making: spiders alone."""
    return _maybe_male(specimen) and Group(specimen.taxon.group) in SPIDERS


def doing(specimen: Specimen, day: date) -> Iterator[str]:
    """What breeding knows of a day: a sac with her, and when she or he was last with another."""
    for sac in specimen.sacs.filter(earliest__lte=day).select_related("female__taxon"):
        ended = guarded_until(sac)
        if ended is not False and (ended is None or ended >= day):
            said = say_guarding(sac).partition(";")[0]
            yield said[:1].lower() + said[1:]
    met = Meeting.objects.filter(pairing__in=_pairings(specimen), earliest__lte=day).order_by("-latest").first()
    if met is not None:
        days = max((day - met.when.middle).days, 0)
        yield "on the day of a pairing" if not days else f"{days} day{'' if days == 1 else 's'} after a pairing"


def lost_in_pairing(specimen: Specimen, day: date) -> str:
    """A meeting of the last days in which this one was lost."""
    lost = Meeting.objects.filter(earliest__lte=day, latest__gte=day - timedelta(days=LOST_DAYS))
    him = lost.filter(pairing__male=specimen, ending=Meeting.Ending.MALE_LOST.value)
    her = lost.filter(pairing__female=specimen, ending=Meeting.Ending.FEMALE_LOST.value)
    return DeathCause.PAIRING.value if him.exists() or her.exists() else ""


for model, *fields in (
    (Pairing, "female", "male"),
    (EggSac, "female"),
    (Sign, "female"),
    (SpermWeb, "male"),
    (PossibleSire, "young"),
):
    traces.watch(model, *fields)


def hope_of(specimen: Specimen) -> str:
    """That a molt would end the wait for a brood."""
    held = pairings.inseminations([specimen.pk]).get(specimen.pk)
    brood = watchwords.words_of(Group(specimen.taxon.group)).brood
    return f"Paired {say_date(held.paired)}: a molt sheds the sperm and ends the wait for {brood}." if held else ""


def _hope_ended(specimen: Specimen, met: Sequence[Pairing], today: date) -> str:
    """That her last molt ended the wait for a brood, as long as that is news."""
    meetings = [meeting for pairing in met if pairing.female_id == specimen.pk for meeting in pairing.meetings.all()]
    last = max(meetings, key=lambda meeting: meeting.latest, default=None)
    molted = specimen.standing.last_molt
    if last is None or molted is None or molted <= last.latest or (today - molted).days > NEWS_DAYS:
        return ""
    if specimen.sacs.filter(earliest__gte=last.earliest, earliest__lte=molted).exists():
        return ""
    brood = watchwords.words_of(Group(specimen.taxon.group)).brood
    return (
        f"Her molt of {say_date(molted, today)} ended the wait for {brood} from the pairing of "
        f"{say_date(last.when, today)}: the sperm went with the skin. She can be paired again once she has hardened "
        "and eaten."
    )


panels.doings["breeding"] = doing
panels.molt_ends["breeding"] = hope_of
panels.causes["breeding"] = lost_in_pairing
panels.timelines["breeding"] = happenings
panels.register(PanelKind("breeding", "Breeding", 40, breeding))
panels.register(PanelKind("kin", "Kin", 45, kindred))


def _needs_a_mate(specimen: Specimen) -> bool:
    return _may_pair(specimen) and not specimen.taxon.parthenogenetic


def _sign_fits(specimen: Specimen) -> bool:
    return _maybe_female(specimen) and not specimen.taxon.parthenogenetic


def _brings(brood: str, specimen: Specimen) -> bool:
    return _maybe_female(specimen) and words_of(Group(specimen.taxon.group)).brood == brood


panels.register_form(LogForm("pairing", "Pairing", "breeding:pairing-new", 80, _needs_a_mate))
panels.register_form(LogForm("sign", "Sign", "breeding:sign-new", 81, _sign_fits))
for brood in sorted({words.brood for words in (*WORDS.values(), OTHERS)}):
    name = "sac" if brood == "sac" else f"brood-{slugify(brood)}"
    panels.register_form(LogForm(name, brood.capitalize(), "breeding:sac-new", 82, partial(_brings, brood)))
panels.register_form(LogForm("loan", "Loan", "breeding:loan-new", 84, _may_pair))
panels.register_form(LogForm("spermweb", "Sperm web", "breeding:spermweb-new", 83, _webs))
