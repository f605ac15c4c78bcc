"""Usual feeding rhythms by group and stage, in days, with what each rests on.

None of them comes from a published study: they are care pages and common practice, taken at the calm end of their
range. The keeper's own rhythm goes before all of them.
"""

from collection.stages import Group, Stage

PRACTICE = "common practice"
PAGES = "care pages and common practice"
Default = tuple[int, str, str]  # days, how it is said, what it rests on
TARANTULA: dict[Stage, Default] = {
    Stage.YOUNG: (4, "once or twice a week", PRACTICE + "; care pages say every 2–3 days"),
    Stage.GROWING: (7, "every 3–7 days", PAGES),
    Stage.SUBADULT: (10, "every 7–14 days", PRACTICE),
    Stage.ADULT: (14, "every 7–14 days", PAGES),
    Stage.MATURE_MALE: (7, "every 5–10 days, small prey", PRACTICE),
}
SLOW: dict[Stage, Default] = {
    Stage.GROWING: (10, "about every 10 days, slow species", PRACTICE),
    Stage.SUBADULT: (14, "every 10–30 days, slow species", PRACTICE),
    Stage.ADULT: (21, "every 10–30 days, slow species", PAGES),
}
JUMPER: dict[Stage, Default] = {
    Stage.YOUNG: (2, "three times a week, as jumping spiders", "care pages"),
    Stage.GROWING: (4, "twice a week, as jumping spiders", "care pages"),
    Stage.SUBADULT: (4, "twice a week, as jumping spiders", "care pages"),
    Stage.ADULT: (7, "once a week, as jumping spiders", "care pages"),
    Stage.MATURE_MALE: (5, "once or twice a week, small prey", PRACTICE),
}
MANTIS: dict[Stage, Default] = {
    Stage.YOUNG: (2, "every other day", "care pages"),
    Stage.GROWING: (3, "twice a week", PRACTICE),
    Stage.SUBADULT: (3, "twice a week", PRACTICE),
    Stage.ADULT: (3, "twice a week", "care pages"),
    Stage.MATURE_MALE: (3, "twice a week", "care pages"),
}
HUNTER: dict[Stage, Default] = {
    Stage.YOUNG: (4, "once or twice a week", PRACTICE),
    Stage.GROWING: (7, "once a week", PRACTICE),
    Stage.SUBADULT: (10, "every 7–14 days", PRACTICE),
    Stage.ADULT: (14, "every 7–14 days", PRACTICE),
    Stage.MATURE_MALE: (10, "every 7–14 days", PRACTICE),
}
# A group that is not here grazes, or nothing is known.
BY_GROUP = {
    Group.TARANTULA: TARANTULA,
    Group.TRUE_SPIDER: JUMPER,
    Group.MANTIS: MANTIS,
    Group.SCORPION: HUNTER,
    Group.CENTIPEDE: HUNTER,
    Group.WHIP_SPIDER: HUNTER,
}
TINY_BELOW_MM = 10.0  # assumption: leg span of a spiderling too small to wait four days
TINY = (3, "every 2–3 days while very small", "care pages")
COMMUNAL = (7, "once a week for a communal group", PRACTICE)
