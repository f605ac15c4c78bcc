// The walk itself: which stop, which animal, which prey; every tap goes to the outbox first.
(() => {
  const { el, mark, card, ruler, feeder } = window.WalkDraw;
  const data = JSON.parse(document.getElementById("walk-data").textContent);
  const $ = (name) => document.querySelector(`[data-${name}]`);
  const stops = data.stops;
  const place = new Map(stops.map((stop, i) => [stop[0], i]));
  const done = data.done.map(([key, kind, enclosure, specimen, detail, at]) => ({ key, kind, enclosure, specimen, ...detail, at, saved: true }));
  const undone = new Set();
  let taps = done, waiting = [], at = 0, who = 0, prey = null, number = 1;
  let asked = new Set();

  const WORDS = { taken: "Taken", refused: "Refused", not_offered: "Not offered", water: "Water", note: "Something is wrong", undo: "Undo" };
  const label = (tap) => {
    if (tap.kind === "taken") return `Taken: ${feeder([tap.prey, tap.mm], tap.number)}.`;
    if (tap.kind === "not_offered") return `Not offered: ${data.reasons[tap.reason] || tap.reason}.`;
    if (tap.kind === "note") return `Note: ${tap.text}`;
    return `${WORDS[tap.kind]}.`;
  };
  const spotOf = (tap) => stops[place.get(tap.enclosure)]?.[2] ?? "";
  const live = () => taps.filter((tap) => tap.kind !== "undo" && !undone.has(tap.key));
  const here = () => live().filter((tap) => tap.enclosure === stops[at]?.[0]);

  const suits = (choice, limit) => !choice?.[1] || !limit || choice[1] <= limit;
  const preyFor = (animal) => {
    if (prey && suits(prey, animal[8])) return prey;
    if (animal[9] && suits(animal[9], animal[8])) return animal[9];
    return data.feeders.find((one) => suits(one, animal[8])) ?? data.feeders[0] ?? ["", null];
  };

  const outbox = new window.Outbox(data.walk, data.taps, ({ waiting: all, state }) => {
    waiting = all;
    const mine = new Set(all.filter((tap) => tap.walk === data.walk).map((tap) => tap.key));
    for (const tap of taps) tap.saved = tap.saved || !mine.has(tap.key);
    const stuck = all.filter((tap) => tap.refused).length;
    $("waiting").textContent = !all.length ? "all saved" : `${all.length} noted${stuck ? `, ${stuck} refused` : ""}${state === "away" ? ", no answer" : ""}`;
    $("waiting").classList.toggle("some", all.length > 0);
    if (state === "signed-out") signedOut();
    log();
  });

  const tap = async (kind, detail = {}, { stay = false } = {}) => {
    const stop = stops[at], animal = stop[4][who];
    const noted = await outbox.add({ kind, enclosure: stop[0], specimen: animal[0], ...detail });
    taps.push(Object.assign(noted, { saved: false }));
    if (navigator.vibrate) navigator.vibrate(kind === "refused" ? [30, 60, 30] : 30);
    if (!stay) onward();
    else draw();
  };

  // After a tap: the next animal of the same enclosure, else the next stop.
  const onward = () => (who + 1 < stops[at][4].length ? (who += 1, draw()) : go(at + 1));
  const go = (next) => {
    at = Math.max(0, Math.min(next, stops.length));
    who = 0;
    history.replaceState(null, "", at < stops.length ? `#${encodeURIComponent(stops[at][1])}` : "#end");
    draw();
  };

  const undo = async (tapped) => {
    undone.add(tapped.key);
    const noted = await outbox.add({ kind: "undo", undoes: tapped.key, enclosure: tapped.enclosure, specimen: tapped.specimen });
    taps.push(noted);
    if (place.has(tapped.enclosure)) go(place.get(tapped.enclosure));
    else draw();
  };

  const cell = (text, attributes, press, small) => {
    const button = el("button", { type: "button", ...attributes }, text, small ? el("small", {}, small) : null);
    button.addEventListener("click", press);
    return button;
  };

  const thumb = () => {
    const box = $("thumb"), stop = stops[at];
    const last = live().at(-1);
    const row = (name, ...cells) => el("div", { class: name }, ...cells.filter(Boolean));
    const undoCell = last && cell("", { class: "undo" }, () => undo(last));
    undoCell?.append(mark("m-undo"), el("span", {}, `Undo ${spotOf(last)}, ${WORDS[last.kind].toLowerCase()}`, el("small", { class: "st" }, ...state(last.saved))));
    if (at >= stops.length) {
      const end = el("a", { class: "go", href: document.querySelector(".leave").href }, "Done");
      box.replaceChildren(row("row-c", undoCell || el("span"), end));
      return;
    }
    const animal = stop[4][who], held = animal[6], choice = preyFor(animal);
    const watered = here().some((one) => one.kind === "water");
    const main = held
      ? cell("Seen, nothing fed", { class: "main" }, () => tap("not_offered", { reason: "held" }), "on hold")
      : cell("Taken", { class: "main" }, () => feed("taken", choice), feeder(choice, number) + (suits(choice, animal[8]) ? "" : ", large for it"));
    const side = held
      ? cell("Feed all the same", { class: "prey" }, () => feed("taken", choice))
      : cell("Change prey", { class: "prey" }, () => choosePrey(animal));
    box.replaceChildren(
      row("row-a", main, side),
      row("row-b", held ? cell("Note", {}, writeNote) : cell("Refused", {}, () => feed("refused", choice)), cell("Not offered", {}, whyNot),
        water(watered)),
      row("row-d", cell("Something is wrong", { class: "plainly" }, writeNote), light(), cell("Back", { class: "plainly" }, () => go(at - 1))),
      row("row-c", undoCell || el("span"), next()),
    );
  };

  const light = () => el("button", { type: "button", class: "plainly", "data-next-light": true }, "Light: ", el("b", { "data-light-now": true }, document.documentElement.dataset.light || "day"));
  const state = (saved) => [mark(saved ? "m-saved" : "m-noted"), saved ? " saved" : " noted"];

  const water = (pressed) => {
    const button = cell("Water", { "aria-pressed": String(pressed) }, () => tap("water", {}, { stay: true }));
    button.prepend(mark("m-drop"));
    return button;
  };
  const next = () => {
    const button = cell("Next", { class: "go" }, () => go(at + 1));
    button.append(mark("m-next"));
    return button;
  };

  const feed = (kind, choice) => {
    const animal = stops[at][4][who], detail = { prey: choice[0], mm: choice[1], number };
    if (!animal[6] || asked.has(animal[0])) return tap(kind, animal[6] ? { ...detail, on_hold: true } : detail);
    ask(`${animal[1]} is on hold`, [el("p", {}, `${animal[6][1]}. Feed it all the same?`)], [
      ["Feed it", () => { asked.add(animal[0]); tap(kind, { ...detail, on_hold: true }); }],
      ["Leave it", () => {}],
    ]);
  };

  const ask = (title, body, choices) => {
    const box = $("ask");
    box.replaceChildren(el("h2", { id: "ask-title" }, title), ...body, el("div", { class: "choices" },
      ...choices.map(([text, press]) => cell(text, {}, () => { box.close(); press(); }))));
    box.showModal();
  };

  const choosePrey = (animal) => {
    const options = data.feeders.map((one) => [feeder(one, 1).replace(/, one$/, "") + (suits(one, animal[8]) ? "" : " (large for it)"), () => { prey = one; draw(); }]);
    const count = el("input", { type: "number", min: 1, max: 99, value: number, id: "how-many", inputmode: "numeric" });
    count.addEventListener("change", () => { number = Math.max(1, Math.min(99, Number(count.value) || 1)); });
    ask("Prey", [el("p", { class: "many" }, el("label", { for: "how-many" }, "How many "), count)], [...options, ["As it was", draw]]);
  };

  const whyNot = () => ask("Not offered, because", [], Object.entries(data.reasons).map(([name, text]) => [text, () => tap("not_offered", { reason: name })]));

  const writeNote = () => {
    const text = el("textarea", { rows: 4, id: "what-is-wrong", maxlength: 2000 });
    ask("Something is wrong", [el("label", { for: "what-is-wrong" }, "What did you see?"), text], [
      ["Note it", () => (text.value.trim() ? tap("note", { text: text.value.trim() }, { stay: true }) : null)],
      ["Leave it", () => {}],
    ]);
    text.focus();
  };

  const signedOut = () => {
    if ($("ask").open) return;
    const door = el("a", { href: "/sign-in/", target: "_blank", rel: "noopener" }, "Sign in, in a new tab");
    ask("Signed out", [el("p", {}, "Nothing is lost: what you tapped stays on this phone and goes on its way once you have signed in."), el("p", {}, door)], [["I have signed in", () => outbox.flush()]]);
  };

  const log = () => {
    const rows = [...taps].reverse().slice(0, 60).map((one) => {
      const stuck = waiting.find((tapped) => tapped.key === one.key && tapped.refused);
      const row = el("li", { class: stuck ? "stuck" : "" }, el("span", { class: "spot" }, spotOf(one)),
        el("span", {}, undone.has(one.key) ? `${label(one)} (undone)` : label(one), stuck ? el("b", {}, ` Refused: ${stuck.refused}`) : null),
        el("span", { class: "st" }, ...state(one.saved && !stuck)));
      if (stuck) row.append(cell("Try again", {}, () => again(stuck)), cell("Put it away", {}, () => outbox.remove(stuck.id)));
      else if (one.kind !== "undo" && !undone.has(one.key)) row.append(cell("Undo", { class: "plainly" }, () => undo(one)));
      return row;
    });
    $("log").replaceChildren(...rows);
  };
  const again = ({ refused, ...tapped }) => outbox.store("readwrite", (all) => all.put(tapped)).then(() => outbox.flush());

  const ending = () => {
    const count = (kind) => live().filter((one) => one.kind === kind).length;
    const seen = new Set(live().map((one) => one.enclosure));
    const used = {};
    for (const one of live().filter((tapped) => tapped.kind === "taken")) {
      const name = [one.prey || "prey not named", one.mm ? `${one.mm} mm` : ""].filter(Boolean).join(", ");
      used[name] = (used[name] || 0) + (one.number || 1);
    }
    const left = stops.filter((stop) => !seen.has(stop[0]));
    return [
      el("h2", { class: "endh" }, "The end of the walk"),
      el("p", { class: "reason" }, `${count("taken")} took food, ${count("refused")} refused, ${count("not_offered")} not offered, ${count("water")} watered, ${left.length} of ${stops.length} left out.`),
      waiting.length ? el("p", { class: "seen" }, el("b", {}, `${waiting.length} still on this phone.`), " They go by themselves when the wifi is back; keep this page open or come back to it.") : el("p", { class: "seen" }, "All of it is saved."),
      ...Object.entries(used).map(([name, n]) => el("p", { class: "seen" }, `${n} × ${name}`)),
      left.length ? cell(`Go to the first left out, ${left[0][2]}`, { class: "plainly" }, () => go(place.get(left[0][0]))) : null,
    ].filter(Boolean);
  };

  const draw = () => {
    const over = at >= stops.length;
    $("at").textContent = over ? stops.length : at + 1;
    const states = {};
    for (const one of live()) states[place.get(one.enclosure)] = one.kind === "not_offered" ? "skip" : "done";
    ruler($("ruler"), Math.max(stops.length, 1), Math.min(at, stops.length - 1), states);
    $("card").replaceChildren(...(over ? ending() : [card(data, stops[at], who, here().filter((one) => one.kind === "water" || one.specimen === stops[at][4][who][0]).map((one) => ({ ...one, label: label(one) })))]));
    $("card").scrollTop = 0;
    thumb();
    log();
  };

  document.addEventListener("click", ({ target }) => {
    const chosen = target.closest("[data-who]");
    if (chosen) { who = Number(chosen.dataset.who); draw(); }
  });
  const jump = () => {
    const code = decodeURIComponent(location.hash.slice(1));
    const found = stops.findIndex((stop) => stop[1] === code || stop[4].some((animal) => animal[1] === code));
    return found;
  };
  addEventListener("hashchange", () => jump() >= 0 && go(jump()));

  // What this phone noted earlier and could not send yet belongs to the picture too.
  outbox.count().then((all) => {
    for (const one of all.filter((tapped) => tapped.walk === data.walk)) {
      if (one.kind === "undo") undone.add(one.undoes);
      if (!taps.some((known) => known.key === one.key)) taps.push({ ...one, saved: false });
    }
    const seen = new Set(live().map((one) => one.enclosure));
    const first = stops.findIndex((stop) => !seen.has(stop[0]));
    go(jump() >= 0 ? jump() : first >= 0 ? first : stops.length);
    document.querySelector(".phone").hidden = false;
    outbox.flush();
  });
})();
