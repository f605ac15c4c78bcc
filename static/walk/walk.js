// The walk itself: which stop, which animal, which prey; every tap goes to the outbox first.
(() => {
  const { el, mark, button, state, card, ruler, feeder } = window.WalkDraw;
  const { Outbox, WalkAsk: ask, WalkSoFar: soFar } = window;
  const data = JSON.parse(document.getElementById("walk-data").textContent);
  const $ = (name) => document.querySelector(`[data-${name}]`);
  const { stops } = data;
  const place = new Map(stops.map((stop, i) => [stop[0], i]));
  const taps = data.done.map(([key, kind, enclosure, specimen, detail, at]) => ({ ...detail, key, kind, enclosure, specimen, at, saved: true }));
  const released = new Set(taps.filter((tap) => tap.on_hold).map((tap) => tap.specimen)); // fed although on hold: asked once
  let store = [], at = 0, who = 0, chosen = null, busy = false, before = { name: "", when: -1e9 }, mood = "";
  const TWICE = 250; // ms: a wet finger that slips presses the same place again

  const WORDS = { taken: "taken", refused: "refused", left: "left in", ate: "ate it", removed: "taken out", not_offered: "not offered", water: "water", upkeep: "upkeep", note: "something is wrong" };
  const ROUNDS = ["water", "upkeep"]; // they are of the enclosure, not of one animal
  const label = (tap) => {
    if (tap.kind === "taken" || (tap.kind === "refused" && tap.prey)) return `${tap.kind === "taken" ? "Taken" : "Refused"}: ${feeder(tap.prey, tap.mm, tap.number)}.`;
    if (tap.kind === "left") return `Left in: ${feeder(tap.prey, tap.mm, tap.number)}.`;
    if (tap.kind === "ate" || tap.kind === "removed") return tap.kind === "ate" ? "Ate what was left in." : "What was left in is taken out.";
    if (tap.kind === "not_offered") return `Not offered: ${data.reasons[tap.reason] || tap.reason}.`;
    if (tap.kind === "upkeep") return `Done: ${data.works[tap.work] ?? tap.work}.`;
    if (tap.kind === "note") return `Note: ${tap.text}`;
    return { water: "Water.", refused: "Refused." }[tap.kind] ?? "Undo.";
  };
  const over = () => at >= stops.length;
  const animalNow = () => stops[at][4][who];
  const spotOf = (tap) => stops[place.get(tap.enclosure)]?.[2] ?? "";
  const counts = (tap) => !tap.refused && !tap.away;
  const undone = () => new Set(taps.filter((tap) => tap.kind === "undo" && counts(tap)).map((tap) => tap.undoes));
  const live = (gone = undone()) => taps.filter((tap) => tap.kind !== "undo" && counts(tap) && !gone.has(tap.key));
  const here = () => live().filter((tap) => tap.enclosure === stops[at]?.[0]);

  // Prey and number stay chosen from card to card, as long as they suit; else what this one had last, else the largest that suits.
  const suits = ([, mm], limit) => !mm || !limit || mm <= limit;
  const preyFor = (animal) => {
    const fits = (one) => one && suits(one, animal[8]);
    if (fits(chosen)) return chosen;
    if (fits(animal[9])) return [...animal[9], 1];
    const known = animal[8] ? [...data.feeders].sort((a, b) => (b[1] || 0) - (a[1] || 0)) : data.feeders;
    return [...(known.find(fits) ?? data.feeders[0]), 1];
  };

  // ---------------------------------------------------------------- taps
  const outbox = new Outbox({ walk: data.walk, began: data.began, address: data.taps, by: data.by, name: data.name }, (news) => changed(news));

  // Another tab's taps of this walk are this walk's taps; what left the store unseen was saved.
  const merge = (all) => {
    const stored = new Map(all.filter((entry) => entry.walk === data.walk && entry.began === data.began).map((entry) => [entry.key, entry]));
    let foreign = 0;
    for (const tap of taps) {
      const entry = stored.get(tap.key);
      tap.saved = tap.saved || !entry || Boolean(entry.saved);
      tap.refused = entry?.refused;
      tap.away = entry?.away;
      stored.delete(tap.key);
    }
    for (const entry of stored.values()) foreign += taps.push({ ...entry, saved: Boolean(entry.saved) }) && 1;
    return foreign;
  };
  const changed = ({ all, state: now }) => {
    store = all;
    const foreign = merge(all);
    const waiting = all.filter(Outbox.waits), refused = waiting.filter((tap) => tap.refused).length;
    $("waiting").textContent = waiting.length ? `${waiting.length} noted` : "all saved";
    $("trouble").textContent = refused ? `${refused} refused` : { "signed-out": "signed out", away: waiting.length ? "no answer" : "" }[now] ?? (outbox.shut.size ? "not yours" : "");
    $("open-log").classList.toggle("some", waiting.length > 0);
    if (now === "signed-out" && mood !== now && ask.signedOut(data.door, () => outbox.flush())) mood = now;
    if (now !== "signed-out" && mood === "signed-out") mood = ask.signedIn() ?? "";
    for (const spot of document.querySelectorAll("[data-st]")) {
      const tap = taps.find(({ key }) => key === spot.dataset.st);
      if (tap) spot.replaceChildren(...state(tap));
    }
    if (foreign && !document.querySelector(".phone").hidden) draw();
    else if (over()) drawCard();
    log();
  };

  // One press at a time, and none that a slip repeats; one on a dialog (*) might go through to what lies beneath.
  const press = (name, work) => async () => {
    if (busy || ([name, "*"].includes(before.name) && performance.now() - before.when < TWICE)) return;
    busy = true;
    try {
      await work();
    } finally {
      busy = false;
      before = { name, when: performance.now() };
    }
  };
  const note = async (tap) => {
    try {
      await outbox.add({ ...tap, spot: spotOf(tap), said: label(tap) }, (entry) => taps.push({ ...entry, saved: false }));
    } catch (error) {
      ask.notKept(error);
      return false;
    }
    if (navigator.vibrate) navigator.vibrate(tap.kind === "refused" ? [30, 60, 30] : 30);
    return true;
  };
  const tap = async (kind, detail = {}, { stay = false } = {}) => {
    const stop = stops[at], animal = animalNow();
    const onHold = released.has(animal[0]) && animal[6] && { on_hold: true };
    const feeding = ["taken", "refused", "left"].includes(kind);
    if (!(await note({ kind, enclosure: stop[0], specimen: animal[0], ...detail, ...(feeding && onHold) }))) return;
    if (!stay) onward();
    else draw();
    say(`Noted: ${named(stop, animal)}, ${WORDS[kind]}.`);
  };
  const undo = async (tapped) => {
    if (tapped.refused) return ask.soFar();
    if (!(await note({ kind: "undo", undoes: tapped.key, enclosure: tapped.enclosure, specimen: tapped.specimen }))) return;
    const stop = stops[place.get(tapped.enclosure)];
    if (stop) go(place.get(tapped.enclosure), Math.max(stop[4].findIndex((animal) => animal[0] === tapped.specimen), 0));
    else draw();
    say(`Undone: ${spotOf(tapped)}, ${WORDS[tapped.kind]}.`);
  };
  const feed = (kind) => {
    const [prey, mm, number] = preyFor(animalNow());
    return tap(kind, { prey, ...(mm && { mm }), number });
  };
  // Water once a walk: pressing it again takes it back.
  const water = () => {
    const done = here().findLast((one) => one.kind === "water");
    return done ? undo(done) : tap("water", {}, { stay: true });
  };

  const work = (kind) => {
    const done = here().findLast((one) => one.kind === "upkeep" && one.work === kind);
    return done ? undo(done) : tap("upkeep", { work: kind }, { stay: true });
  };

  // What was left in: eaten, or taken out; pressing it again takes it back.
  const settle = async (kind) => {
    const done = here().findLast((one) => one.specimen === animalNow()[0] && ["ate", "removed"].includes(one.kind));
    if (done) await undo(done);
    if (done?.kind !== kind) await tap(kind, {}, { stay: true });
  };

  // ---------------------------------------------------------------- where one is
  const named = (stop, one) => `${stop[2]}, ${one[1]}`;
  const say = (text) => {
    const next = over() ? "The end of the walk." : `${named(stops[at], animalNow())}, ${data.taxa[animalNow()[2]][0]}.`;
    $("say").textContent = `${text} ${next}`;
  };
  const go = (next, animal = 0) => {
    at = Math.max(0, Math.min(next, stops.length));
    who = over() ? 0 : animal;
    const codes = over() ? ["end"] : [stops[at][1], ...(stops[at][4].length > 1 ? [animalNow()[1]] : [])];
    history.replaceState(null, "", `#${codes.map(encodeURIComponent).join("/")}`);
    draw();
  };
  // After a tap: the next animal of the same enclosure, else the next stop.
  const onward = () => (who + 1 < stops[at][4].length ? go(at, who + 1) : go(at + 1));
  // #ENCLOSURE or #ENCLOSURE/ANIMAL, as a scanned label leads here; an animal's code alone will do as well.
  const asked = () => {
    const read = (text) => {
      try {
        return decodeURIComponent(text);
      } catch {
        return text;
      }
    };
    const [code, animal = code] = location.hash.slice(1).split("/").map(read);
    let stop = stops.findIndex((one) => one[1] === code);
    if (stop < 0) stop = stops.findIndex((one) => one[4].some((each) => each[1] === animal));
    return stop < 0 ? null : [stop, Math.max(stops[stop][4].findIndex((each) => each[1] === animal), 0)];
  };

  // ---------------------------------------------------------------- what the thumb reaches
  const cell = (name, text, attributes, work, small) => {
    const node = button(text, { "data-do": name, ...attributes }, press(name, work));
    if (small) node.append(el("small", {}, small));
    return node;
  };
  const LIGHTS = ["day", "night", "red"]; // light.js sets them and remembers
  const light = () => document.documentElement.dataset.light || (matchMedia("(prefers-color-scheme: dark)").matches ? "night" : "day");
  const lightCell = () => {
    const next = LIGHTS[(LIGHTS.indexOf(light()) + 1) % LIGHTS.length];
    return el("button", { type: "button", class: "plainly", "data-do": "light", "data-set": next }, "Light: ", el("b", {}, light()));
  };
  const undoCell = () => {
    const last = live().at(-1);
    if (!last) return el("span");
    const node = cell("undo", "", { class: "undo" }, () => undo(last));
    const where = el("span", { class: "where" }, `${spotOf(last)}, `);
    node.append(mark("m-undo"), el("span", {}, "Undo ", where, WORDS[last.kind], el("small", { class: "st", "data-st": last.key }, ...state(last))));
    return node;
  };
  const waterCell = () => {
    const node = cell("b3", "Water", { "aria-pressed": String(here().some((one) => one.kind === "water")) }, water);
    node.prepend(mark("m-drop"));
    return node;
  };
  const nextCell = () => {
    const node = cell("next", "Next", { class: "go" }, () => go(at + 1));
    node.append(mark("m-next"));
    return node;
  };
  const whyNot = () => {
    const animal = animalNow(), offered = !animal[6] || released.has(animal[0]);
    const reasons = Object.entries(data.reasons).map(([name, text]) => [text, press("*", () => tap("not_offered", { reason: name }))]);
    ask.choose("Not offered, because", offered ? [...reasons, ["it was, and is left in till tomorrow", press("*", () => feed("left"))]] : reasons);
  };
  const wrong = () => ask.note((text) => press("*", () => tap("note", { text }, { stay: true }))());
  const choosePrey = () => {
    const animal = animalNow();
    ask.prey(data.feeders, preyFor(animal), (one) => (suits(one, animal[8]) ? "" : " (large for it)"), (one) => {
      chosen = one;
      draw();
    });
  };
  const offerAllTheSame = () => {
    const animal = animalNow();
    ask.choose(`${animal[1]} is on hold`, [["Offer food", () => { released.add(animal[0]); draw(); }], ["Leave it", () => {}]], `${animal[6]} Offer food all the same?`);
  };

  const row = (name, ...cells) => el("div", { class: name }, ...cells);
  const rows = () => {
    const animal = animalNow(), prey = preyFor(animal);
    const small = row("row-d", cell("wrong", "Something is wrong", { class: "plainly" }, wrong), lightCell(), cell("back", "Back", { class: "plainly" }, () => go(at - 1)));
    if (animal[6] && !released.has(animal[0])) {
      return [
        row("row-a", cell("main", "Seen", { class: "main" }, () => tap("not_offered", { reason: "held" }), "on hold, nothing is fed"), cell("side", "Offer all the same", { class: "prey" }, offerAllTheSame)),
        row("row-b", cell("b1", "Not seen", {}, () => tap("not_offered", { reason: "unseen" })), cell("b2", "Not offered", {}, whyNot), waterCell()),
        small,
      ];
    }
    const what = feeder(...prey) + (suits(prey, animal[8]) ? "" : ", large for it");
    return [
      row("row-a", cell("main", "Taken", { class: "main" }, () => feed("taken"), what), cell("side", "Change prey", { class: "prey" }, choosePrey)),
      row("row-b", cell("b1", "Refused", {}, () => feed("refused")), cell("b2", "Not offered", {}, whyNot), waterCell()),
      small,
    ];
  };
  const drawThumb = () => {
    const box = $("thumb"), held = box.contains(document.activeElement) && document.activeElement.dataset.do;
    const end = el("a", { class: "go", "data-do": "next", href: document.querySelector(".leave").href }, "Done");
    box.replaceChildren(...(over() ? [row("row-c", undoCell(), end)] : [...rows(), row("row-c", undoCell(), nextCell())]));
    if (held) (box.querySelector(`[data-do="${held}"]`) ?? box.querySelector("[data-do]")).focus(); // the keyboard goes on where it was
  };

  // ---------------------------------------------------------------- drawing
  const ending = () => {
    const done = live(), seen = new Set(done.map((one) => one.enclosure)), left = stops.filter((stop) => !seen.has(stop[0]));
    const count = (kind) => done.filter((one) => one.kind === kind).length;
    const used = {};
    for (const { prey, mm, number } of done.filter((one) => one.kind === "taken" || one.kind === "left")) {
      const name = feeder(prey, mm).replace(/, one$/, "");
      used[name] = (used[name] || 0) + (number || 1);
    }
    const waiting = outbox.waiting;
    return [
      el("h2", { class: "endh" }, "The end of the walk"),
      el("p", { class: "reason" }, `${count("taken")} took food, ${count("refused")} refused, ${count("left") ? `${count("left")} left in, ` : ""}${count("not_offered")} not offered, ${count("water")} watered, ${count("upkeep") ? `${count("upkeep")} round${count("upkeep") > 1 ? "s" : ""} of upkeep, ` : ""}${left.length} of ${stops.length} left out.`),
      el("p", { class: "seen" }, ...(waiting ? [el("b", {}, `${waiting} still on this phone.`), ` ${waiting > 1 ? "They go by themselves" : "It goes by itself"} when the wifi is back; keep this page open or come back to it.`] : ["All of it is saved."])),
      ...Object.entries(used).map(([name, n]) => el("p", { class: "seen" }, `${n} × ${name}`)),
      left.length && el("p", { class: "seen quiet" }, `Left out: ${left.map((stop) => stop[2].replaceAll(" ", "\u00a0")).join(", ")}.`),
      left.length && button(`Go to the first left out, ${left[0][2]}`, { class: "plainly" }, () => go(place.get(left[0][0]))),
    ].filter(Boolean);
  };
  const drawCard = () => {
    const seen = over() ? [] : here().filter((one) => ROUNDS.includes(one.kind) || one.specimen === animalNow()[0]).map((one) => ({ ...one, label: label(one) }));
    const tapped = new Set(live().filter((one) => !ROUNDS.includes(one.kind)).map((one) => one.specimen));
    $("card").replaceChildren(...(over() ? ending() : [card(data, stops[at], who, seen, tapped)]));
  };
  const draw = () => {
    $("at").textContent = over() ? stops.length : at + 1;
    const states = {};
    for (const one of live()) if (place.has(one.enclosure)) states[place.get(one.enclosure)] = one.kind === "not_offered" ? "skip" : "done";
    ruler($("ruler"), Math.max(stops.length, 1), Math.min(at, stops.length - 1), states);
    drawCard();
    $("card").scrollTop = 0;
    drawThumb();
    log();
  };
  const log = () => {
    const page = { taps, walk: data.walk, spotOf, label, undone, undo: (one) => press("undo in the list", () => ask.closed().then(() => undo(one)))() };
    for (const box of document.querySelectorAll("[data-log]")) if (box.offsetParent) soFar(box, page, store, outbox);
  };

  document.addEventListener("click", ({ target }) => {
    const round = target.closest("[data-work]")?.dataset.work;
    if (round) press(`work ${round}`, () => work(round).then(() => document.querySelector(`[data-work="${round}"]`)?.focus()))();
    const left = target.closest("[data-left]")?.dataset.left;
    if (left) press(`left ${left}`, () => settle(left).then(() => document.querySelector(`[data-left="${left}"]`)?.focus()))();
    const other = target.closest("[data-who]");
    if (!other) return;
    go(at, Number(other.dataset.who));
    document.querySelector(`[data-who="${who}"]`)?.focus();
  });
  for (const box of document.querySelectorAll("dialog")) box.addEventListener("close", () => (before = { name: "*", when: performance.now() }));
  $("open-log").addEventListener("click", () => ask.soFar(log));
  new MutationObserver(() => drawThumb()).observe(document.documentElement, { attributeFilter: ["data-light"] });
  addEventListener("resize", () => log());
  addEventListener("hashchange", () => asked() && go(...asked()));

  const begin = async () => {
    await outbox.open();
    const fresh = performance.getEntriesByType?.("navigation")[0];
    if (fresh?.transferSize && !fresh.workerStart) outbox.lead = Math.round(performance.timeOrigin + fresh.responseStart - data.now);
    await outbox.prune(data.now);
    await outbox.count();
    const seen = new Set(live().map((one) => one.enclosure));
    const first = stops.findIndex((stop) => !seen.has(stop[0]));
    document.querySelector(".phone").hidden = false;
    go(...(asked() ?? [first >= 0 ? first : stops.length]));
    outbox.flush();
  };
  begin().catch(() => ($("cannot").hidden = false));
})();
