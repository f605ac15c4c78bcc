"""The headings keepers use, in English and German, for each field of each kind of record.

One text a field, headings divided by commas, so that a list can be read and added to at a glance.
"""

_CODE = "code, id, no, nr, number, nummer, #, ref, animal id, animal, tier, tier nr, tiernummer, id code, label, kürzel"
_NOTES = (
    "notes, note, comment, comments, remarks, remark, bemerkung, bemerkungen, notiz, notizen, anmerkung, anmerkungen, "
    "info"
)
_SIZE = "size, größe"  # leg span of a spider, body length of a mantis: by its taxon
_LEG_SPAN = "leg span, legspan, dls, span, beinspannweite, spannweite, bsw, diagonal leg span"
_BODY_LENGTH = "body length, bl, kl, körperlänge, length, länge, body"
_CARAPACE = "carapace length, carapace, cl, carapax, carapaxlänge, prosoma, prosomalänge"
_MASS = "mass, weight, gewicht, masse"
_INSTAR = "instar, stadium, fh, skin, haut, molt no, molt number, moult number, häutungsstand, nymphal stage"

_ANIMALS = {
    "code": _CODE,
    "species": (
        "species, scientific name, latin name, taxon, binomial, art, spezies, wissenschaftlicher name, lateinischer "
        "name, gattung art, genus species, spider, tarantula, spinne, vogelspinne"
    ),
    "name": "name, pet name, nickname, rufname, spitzname",
    "sex": "sex, gender, geschlecht, m/f, m/w, sexed, ♀/♂, ♂/♀, sex ratio",
    "count": "count, qty, quantity, anzahl, menge, stück, stk, how many, head count, pcs, bestand",
    "stage": "stage, life stage, age class, lebensstadium, entwicklungsstadium, altersklasse",
    "instar": _INSTAR,
    "size": _SIZE,
    "leg_span": _LEG_SPAN,
    "body_length": _BODY_LENGTH,
    "carapace": _CARAPACE,
    "mass": _MASS,
    "measured": "measured, measured on, size date, gemessen, gemessen am, messdatum",
    "hatched": (
        "hatched, hatch date, date of birth, dob, born, birth, birth date, birthday, emerged, geboren, geburtsdatum, "
        "geburt, schlupf, schlupfdatum, geschlüpft, nz"
    ),
    "acquired": (
        "acquired, acquisition date, date acquired, bought, bought on, purchased, purchase date, date bought, date of "
        "purchase, got, got on, arrived, arrival, received, since, date, datum, kaufdatum, gekauft, gekauft am, "
        "erworben, erworben am, erhalten, erhalten am, seit, zugang"
    ),
    "seller": (
        "from, seller, source, bought from, breeder, vendor, supplier, got from, acquired from, von, verkäufer, "
        "züchter, herkunft von, gekauft von, bezugsquelle, quelle, händler"
    ),
    "price": "price, cost, paid, preis, kosten, bezahlt, kaufpreis",
    "origin": "origin, origin code, cb/wc, cb wc, wc/cb, captive bred, herkunft, nz/wf, nz wf, wf/nz",
    "locality": "locality, location of origin, collected at, fundort, lokalität, locale",
    "enclosure": "enclosure, box, tank, terrarium, enclosure code, container, behälter, becken, dose, tub, cage",
    "place": "place, rack, shelf, location, room, regal, standort, platz, fach, raum, position",
    "last_molt": (
        "last molt, last moult, molted, moulted, last molted, last moulted, last shed, shed, molt, moult, molt date, "
        "moult date, häutung, letzte häutung, gehäutet, gehäutet am, häutungsdatum"
    ),
    "last_fed": (
        "last fed, fed, last feeding, last feed, last meal, fed on, feeding, feed date, last ate, letzte fütterung, "
        "gefüttert, zuletzt gefüttert, fütterung, gefüttert am"
    ),
    "rhythm": "feed every, feeding interval, interval, every days, fütterungsintervall, futterintervall, intervall",
    "status": "status, alive, state, lebt, zustand",
    "died": "died, death, date of death, dead since, died on, gestorben, todesdatum, verstorben, tot seit",
    "dam": "dam, mother, mutter, muttertier, dam code, mother code, mutter nr",
    "sire": "sire, father, vater, vatertier, sire code, father code, vater nr",
    "hybrid": "hybrid, hybrids, crossbred, hybride, kreuzung",
    "clutch": "clutch, sac, egg sac, clutch code, sac code, kokon, gelege, kokon nr, gelege nr",
    "notes": _NOTES,
}

_MOLTS = {
    "code": _CODE,
    "date": (
        "date, molt date, moult date, molted, moulted, molted on, molt, moult, shed, shed date, found, datum, häutung, "
        "häutungsdatum, gehäutet, gehäutet am, häutung am"
    ),
    "instar": (
        "instar, stadium, fh, skin, haut, molt no, molt number, moult number, häutungsstand, nymphal stage, instar "
        "after, to instar, new instar"
    ),
    "size": _SIZE,
    "leg_span": _LEG_SPAN,
    "body_length": _BODY_LENGTH,
    "carapace": _CARAPACE,
    "exuvia": "exuvia, exuviae, exuvia kept, exuvium, exuvie, kept, exuvie behalten, aufgehoben, molt kept, moult kept",
    "sex": "sex, sex seen, sexed, geschlecht, sex from exuvia, gender",
    "notes": _NOTES,
}

_FEEDINGS = {
    "code": _CODE,
    "date": "date, fed, fed on, feeding date, feed date, when, datum, gefüttert, gefüttert am, fütterung, wann",
    "prey": "prey, food, feeder, what, fed with, item, futter, futtertier, futtertiere, beute, was",
    "size": "prey size, feeder size, size, futtergröße, größe",
    "number": "number, how many, qty, quantity, amount, count, anzahl, menge, stück, stk, wie viele",
    "outcome": "outcome, taken, ate, eaten, accepted, result, ergebnis, gefressen, genommen, angenommen",
    "notes": _NOTES,
}

_PAIRINGS = {
    "female": "female, female code, female id, weibchen, weib, ♀, 0.1, dam, w, f",
    "male": "male, male code, male id, männchen, bock, ♂, 1.0, sire, m",
    "date": "date, paired, paired on, pairing, pairing date, when, datum, verpaarung, verpaart, verpaart am, paarung",
    "insertions": "insertions, insertion, inserts, inserted, insertions seen, insertionen, einführungen",
    "outcome": "outcome, ended, end, result, how it ended, ergebnis, ausgang, verlauf",
    "notes": _NOTES,
}

_READINGS = {
    "sensor": "sensor, sensor name, device name, probe, logger, channel, fühler, gerät, messgerät",
    "at": (
        "timestamp, time stamp, datetime, date time, date/time, time, date, utc time, zeit, zeitpunkt, zeitstempel, "
        "messzeit, datum, datum uhrzeit, datum/zeit"
    ),
    "clock": "time, time of day, clock, utc time, local time, uhrzeit, uhr, zeit, messzeit",
    "celsius": "temperature, temp, celsius, temperature celsius, temperature fahrenheit, temperatur",
    "humidity": (
        "humidity, relative humidity, rh, hum, relative humidity percent, luftfeuchte, luftfeuchtigkeit, "
        "rel luftfeuchte, feuchte, rel feuchte, relative feuchte"
    ),
}

HEADINGS: dict[str, dict[str, tuple[str, ...]]] = {
    kind: {field: tuple(word.strip() for word in words.split(",")) for field, words in fields.items()}
    for kind, fields in (
        ("animals", _ANIMALS),
        ("molts", _MOLTS),
        ("feedings", _FEEDINGS),
        ("pairings", _PAIRINGS),
        ("readings", _READINGS),
    )
}

DATE_FIELDS = frozenset(["measured", "hatched", "acquired", "last_molt", "last_fed", "died", "date"])
CLOCK_FIELDS = {"clock": True, "at": False}  # times of day in a column of their own; dates, with their time or without
