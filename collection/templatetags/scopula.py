"""Words, marks and small forms that every template draws the same way."""

from __future__ import annotations

import re
from datetime import date
from functools import lru_cache
from typing import Any

from django import template
from django.contrib.auth.models import AbstractBaseUser, AnonymousUser
from django.urls import resolve
from django.utils import timezone
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from collection import dates, instars, receipts
from collection.models import Molt, Specimen, Standing, Taxon
from collection.rights import is_for_helpers, is_keeper
from collection.sexing import Verdict
from collection.stages import Group, Stage, stage_label

register = template.Library()

UPRIGHT = re.compile(r"\b(cf\.|aff\.|sp\.|spp\.|subsp\.|var\.)|×|\(.*?\)")
SEX_MARKS: dict[str, tuple[str, str]] = {
    Verdict.FEMALE.value: ("m-f-sure", "female"),
    Verdict.PROBABLY_FEMALE.value: ("m-f", "probably female"),
    Verdict.MALE.value: ("m-m-sure", "male"),
    Verdict.PROBABLY_MALE.value: ("m-m", "probably male"),
    Verdict.UNSEXED.value: ("m-u", "unsexed"),
}
STAGE_MARKS = {
    Stage.YOUNG: "m-stage-1",
    Stage.GROWING: "m-stage-2",
    Stage.SUBADULT: "m-stage-3",
    Stage.ADULT: "m-stage-4",
    Stage.MATURE_MALE: "m-stage-4",
}
VENOM_WORDS = {1: "mild {}", 2: "strong {}", 3: "medically significant {}"}
HAIR_WORDS = {1: "hairs on contact", 2: "kicks hairs readily", 3: "strong hairs"}


@register.simple_tag
def once() -> SafeString:
    """A hidden one-time key: the form that carries it counts once."""
    return format_html('<input type="hidden" name="once" value="{}">', receipts.new_key())


@register.simple_tag
@lru_cache(maxsize=512)
def mark(name: str, label: str = "") -> SafeString:
    """A drawn mark from the sheet of symbols; with a label it speaks, without it is silent."""
    if label:
        return format_html('<svg class="m" role="img" aria-label="{}"><use href="#{}"/></svg>', label, name)
    return format_html('<svg class="m" aria-hidden="true"><use href="#{}"/></svg>', name)


@register.filter
def may(user: AbstractBaseUser | AnonymousUser, address: str) -> bool:
    """Whether the page behind this address opens for the person, so that nobody is shown a shut door."""
    return is_keeper(user) or is_for_helpers(resolve(address).func)


@register.filter
def sci(taxon: Taxon | str) -> SafeString:
    """A scientific name in italics; cf., sp., × and what stands in brackets stay upright."""
    return _in_italics(str(taxon))


@lru_cache(maxsize=1024)  # a page names the same few taxa in every row
def _in_italics(name: str) -> SafeString:
    parts: list[tuple[str]] = []
    at = 0
    for found in UPRIGHT.finditer(name):
        parts.append((_italic(name[at : found.start()]),))
        parts.append((format_html("{}", found.group()),))
        at = found.end()
    parts.append((_italic(name[at:]),))
    return format_html_join("", "{}", parts)


def _italic(text: str) -> SafeString:
    if not text.strip():
        return format_html("{}", text)
    lead, tail = text[: len(text) - len(text.lstrip())], text[len(text.rstrip()) :]
    return format_html('{}<i class="sci">{}</i>{}', lead, text.strip(), tail)


@register.filter
def sexmark(specimen: Specimen) -> SafeString:
    """The sex of an animal as a mark with its word."""
    if specimen.kind != "single":
        return mark("m-group", specimen.get_kind_display())
    standing = specimen.standing
    if standing.sex_conflict:
        return mark("m-clash", "sex evidence in conflict")
    return mark(*SEX_MARKS[standing.sex])


@register.filter
def sexword(standing: Standing) -> str:
    """The verdict in words."""
    return "evidence in conflict" if standing.sex_conflict else SEX_MARKS[standing.sex][1]


@register.filter
def sureness(standing: Standing) -> str:
    """How sure the verdict is, in per cent of the side it takes."""
    share = standing.sex_probability
    if standing.sex in {Verdict.MALE.value, Verdict.PROBABLY_MALE.value}:
        share = 1 - share
    return percent(share)


@register.filter
def stagemark(standing: Standing) -> SafeString:
    """Rings of growth."""
    name = STAGE_MARKS.get(Stage(standing.stage))
    return mark(name) if name else SafeString("")


@register.filter
def stageword(specimen: Specimen) -> str:
    """The group's own word for the stage of an animal."""
    return stage_label(Group(specimen.taxon.group), Stage(specimen.standing.stage))


@register.filter
def beganword(specimen: Specimen) -> str:
    """How its life began: scorpions and woodlice are born, the others hatch."""
    return "born" if Group(specimen.taxon.group) in {Group.SCORPION, Group.ISOPOD} else "hatched"


@register.filter
def hazards(taxon: Taxon) -> SafeString:
    """The hazard class in small: ink grows with the class."""
    parts = [("V", taxon.venom_class), ("H", taxon.hair_class)]
    shown = [(level, letter, level) for letter, level in parts if level]
    return format_html_join(" ", '<i class="hz c{}">{}{}</i>', shown)


@register.filter
def percent(share: float) -> str:
    """A chance in whole per cent; never 0 % or 100 % for what is only nearly so."""
    if 0 < share < 0.01:
        return "<1 %"
    if 0.99 < share < 1:
        return ">99 %"
    return f"{share * 100:.0f} %"


@register.filter
def day(value: date | dates.FuzzyDate | None) -> str:
    """A day as a sentence says it: 4 December, with its year when that is another."""
    return "" if value is None else dates.say_date(value, timezone.localdate())


@register.filter
def ago(value: date | None) -> str:
    """How long ago a day was."""
    return "" if value is None else dates.say_days((timezone.localdate() - value).days)


@register.filter
def spaced(tag: str) -> str:
    """A tag in two groups of four, as it is printed."""
    return f"{tag[:4]} {tag[4:]}"


@register.filter
def number(value: float | None) -> str:
    """A number without needless decimals."""
    return "" if value is None else f"{value:g}"


@register.filter
def span(low: Any, high: Any) -> str:
    """A range; one value where both ends agree, nothing where none is known."""
    if low is None and high is None:
        return ""
    if low == high or high is None or low is None:
        return f"{low if low is not None else high:g}"
    return f"{low:g}–{high:g}"


@register.filter
def hazard_word(taxon: Taxon) -> str:
    """What the venom class means, in the word that fits the group."""
    word = "sting" if taxon.group == Group.SCORPION.value else "bite"
    return VENOM_WORDS.get(taxon.venom_class or 0, "").format(word)


@register.filter
def hair_word(level: int | None) -> str:
    """What a class of urticating hairs means, in words."""
    return HAIR_WORDS.get(level or 0, "")


@register.filter
def instar(molt: Molt, specimen: Specimen) -> str:
    """The instar of a molt as its group writes it."""
    return molt.instar_said(Group(specimen.taxon.group))


@register.filter
def instar_after(molt: Molt, specimen: Specimen) -> str:
    """The instar one molt further."""
    number = (molt.instar or 0) + 1
    return instars.label(Group(specimen.taxon.group), number, instars.Convention(molt.numbering))


@register.filter
def at(found: dict[str, str], name: str) -> str:
    """What a mapping holds under a name."""
    return found.get(name, "")


@register.filter
def plus(one: float, other: float) -> float:
    """The sum of two numbers, rounded to what a figure shows."""
    return round(one + other, 2)
