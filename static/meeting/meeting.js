// A meeting while it happens: a stopwatch and one tap a sign. Every tap goes to the outbox first, as on the rack walk.
(() => {
  const { el, mark, button, state } = window.WalkDraw;
  const { Outbox } = window;
  const data = JSON.parse(document.getElementById("meeting-data").textContent);
  const $ = (name) => document.querySelector(`[data-${name}]`);
  const TWICE = 250; // ms: a wet finger that slips presses the same place again
  const WALK = `pair-${data.pair}`;
  const BIG = ["left", "right", "coupled"];
  const GRAVE = ["attack", "male_lost"];
  const taps = data.done.map(([key, sitting, kind, at]) => ({ key, sitting, kind, at, saved: true }));
  const early = [...$("card").childNodes]; // cautions, risk and notes, as the house sent them
  let before = { name: "", when: -1e9 }, busy = false;

  const counts = (tap) => !tap.refused && !tap.away;
  const undone = () => new Set(taps.filter((tap) => tap.kind === "undo" && counts(tap)).map((tap) => tap.undoes));
  const moment = (tap) => Date.parse(tap.at) - (tap.lead ?? 0);
  const now = () => Date.now() - (outbox.lead ?? 0);
  const live = (gone = undone()) => taps.filter((tap) => tap.kind !== "undo" && counts(tap) && !gone.has(tap.key));
  const begin = () => live().filter((tap) => tap.kind === "begin").sort((a, b) => moment(a) - moment(b)).at(-1);
  const here = () => live().filter((tap) => tap.sitting === begin()?.sitting).sort((a, b) => moment(a) - moment(b));
  const end = () => here().find((tap) => tap.kind === "end");
  const watch = (ms) => {
    const s = Math.max(0, Math.floor(ms / 1000)), two = (n) => String(n).padStart(2, "0");
    return `${s >= 3600 ? `${Math.floor(s / 3600)}:` : ""}${two(Math.floor((s % 3600) / 60))}:${two(s % 60)}`;
  };
  const since = (tap) => watch(moment(tap) - moment(begin()));
  const word = (tap) => (tap.kind === "end" ? `${data.words.end}: ${data.endings[tap.ending] ?? "not seen"}` : data.words[tap.kind]);
  const many = (kind) => here().filter((tap) => tap.kind === kind).length;

  // ---------------------------------------------------------------- taps
  const outbox = new Outbox({ walk: WALK, pair: data.pair, since: data.since, address: data.taps, by: data.by, name: data.name }, (news) => changed(news));
  const merge = (all) => {
    const stored = new Map(all.filter((entry) => entry.walk === WALK).map((entry) => [entry.key, entry]));
    for (const tap of taps) {
      const entry = stored.get(tap.key);
      Object.assign(tap, { saved: tap.saved || !entry || Boolean(entry.saved), refused: entry?.refused, away: entry?.away, id: entry?.id });
      stored.delete(tap.key);
    }
    for (const entry of stored.values()) taps.push({ ...entry, saved: Boolean(entry.saved) });
  };
  const changed = ({ all, state: how }) => {
    merge(all);
    const waiting = all.filter(Outbox.waits), refused = waiting.filter((tap) => tap.refused).length;
    $("waiting").textContent = waiting.length ? `${waiting.length} noted` : "all saved";
    $("trouble").textContent = refused ? `${refused} refused` : { "signed-out": "signed out", away: waiting.length ? "no answer" : "" }[how] ?? (outbox.shut.size ? "not yours" : "");
    $("door").hidden = how !== "signed-out" && !outbox.shut.size;
    draw();
  };
  const press = (name, work) => async () => {
    if (busy || (name === before.name && performance.now() - before.when < TWICE)) return;
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
      await outbox.add({ ...tap, spot: data.name, said: tap.kind === "undo" ? "Undo." : word(tap) }, (entry) => taps.push({ ...entry, saved: false }));
    } catch {
      $("say").textContent = "Not noted: this phone could not keep that tap.";
      $("lost").hidden = false;
      return;
    }
    $("lost").hidden = true;
    if (navigator.vibrate) navigator.vibrate(GRAVE.includes(tap.kind) ? [30, 60, 30] : 30);
    draw();
    $("say").textContent = `Noted: ${tap.kind === "undo" ? "undone" : word(tap)}.`;
  };
  const tap = (kind, more = {}) => note({ kind, sitting: begin().sitting, ...more });
  const undo = (one) => note({ kind: "undo", undoes: one.key, sitting: one.sitting });
  const start = () => note({ kind: "begin", sitting: Outbox.newKey() });

  // ---------------------------------------------------------------- how it ended
  const ask = () => {
    const kinds = here().map((one) => one.kind);
    const likely = kinds.includes("male_lost") ? "male_lost" : kinds.includes("attack") ? "attack" : "peace";
    const order = [likely, ...Object.keys(data.endings).filter((one) => one !== likely)];
    const box = $("ask");
    const choice = (ending, i) => button(data.endings[ending], { autofocus: !i }, () => {
      box.close();
      press("ending", () => tap("end", { ending }))();
    });
    box.replaceChildren(el("h2", { id: "ask-title" }, "How did it end?"), el("div", { class: "choices" }, ...order.map(choice), button("Not over yet", {}, () => box.close())));
    box.showModal();
  };

  // ---------------------------------------------------------------- drawing
  const cell = (name, work, attributes = {}, ...content) => {
    const node = button("", { "data-do": name, ...attributes }, press(name, work));
    node.append(...content);
    return node;
  };
  const sign = (kind) => {
    const n = many(kind), name = data.words[kind];
    const words = el("span", {}, name[0].toUpperCase() + name.slice(1), n > 0 && el("small", {}, `${n} ×`));
    return cell(kind, () => tap(kind), { class: BIG.includes(kind) ? "main" : GRAVE.includes(kind) ? "grave" : "" }, words);
  };
  const undoCell = (text) => {
    const last = here().at(-1);
    return cell("undo", () => undo(last), { class: "undo" }, mark("m-undo"), el("span", {}, text ?? `Undo ${data.words[last.kind]}`, el("small", { class: "st", "data-st": last.key }, ...state(last))));
  };
  const row = (name, ...cells) => el("div", { class: name }, ...cells);
  const thumb = () => {
    const afterwards = el("a", { href: data.form, class: "plainly" }, "Log it afterwards");
    if (!begin()) return [row("row-a", cell("begin", start, { class: "main" }, "Begin"), afterwards)];
    if (end()) return [row("row-b two", undoCell("Undo the end"), cell("begin", start, {}, "Another meeting")), row("row-e", el("a", { class: "main", href: data.page }, "What to do next"))];
    const grid = data.rows.map((kinds) => row(kinds.some((kind) => BIG.includes(kind)) ? `row-b ${kinds.length > 1 ? "two" : "one"}` : "row-b", ...kinds.map(sign)));
    return [...grid, row("row-c", undoCell(), cell("end", ask, { class: "go" }, "End"))];
  };
  const line = (one, gone) => {
    const stuck = one.refused && el("b", {}, ` ${one.refused}`);
    const mend = one.refused && el("span", { class: "mend" }, button("Try again", {}, () => outbox.again(one.id)), button("Put it away", {}, () => outbox.putAway(one.id)));
    const off = gone.has(one.key);
    const node = el("li", { class: one.refused ? "stuck" : "" }, el("span", { class: "since" }, begin() ? since(one) : ""), el("span", {}, (one.kind === "undo" ? "undo" : word(one)) + (off ? " (undone)" : ""), stuck), el("span", { class: "st", "data-st": one.key }, ...state(one)), mend);
    if (!off && !one.refused) node.append(button("Undo", { "aria-label": `Undo ${word(one)} at ${since(one)}` }, press(`undo ${one.key}`, () => undo(one))));
    return node;
  };
  const summary = () => {
    const parts = BIG.filter((kind) => data.rows.flat().includes(kind)).map((kind) => `${many(kind)} × ${data.words[kind]}`);
    return parts.join(", ");
  };
  const list = () => {
    const gone = undone(), now_ = begin()?.sitting;
    const shown = taps.filter((one) => !one.away && (one.refused || (one.sitting === now_ && one.kind !== "undo"))).sort((a, b) => moment(b) - moment(a));
    return el("ol", {}, ...shown.map((one) => line(one, gone)));
  };
  const tick = () => {
    const first = begin();
    $("clock").textContent = first ? watch((end() ? moment(end()) : now()) - moment(first)) : "00:00";
  };
  // Drawn anew only when something else is to be seen: a place that is taken away under a finger hears no tap.
  let drawn = "";
  const draw = () => {
    const gone = undone();
    const seen = JSON.stringify([gone.size, taps.map((one) => [one.key, one.refused, one.away])]);
    if (seen === drawn) {
      for (const spot of document.querySelectorAll("[data-st]")) spot.replaceChildren(...state(taps.find(({ key }) => key === spot.dataset.st)));
      return;
    }
    drawn = seen;
    const box = $("thumb"), held = box.contains(document.activeElement) && document.activeElement.dataset.do;
    const stuck = taps.some((one) => one.refused && !one.away);
    if (begin() || stuck) $("card").replaceChildren(el("p", { class: "reason" }, end() ? `Over after ${since(end())}: ` : "", summary()), el("div", { "data-log": true }, list()));
    else $("card").replaceChildren(...early);
    box.replaceChildren(...thumb());
    if (held) (box.querySelector(`[data-do="${held}"]`) ?? box.querySelector("[data-do]"))?.focus();
    tick();
  };

  const keepAwake = async () => {
    if (!document.hidden) await navigator.wakeLock.request("screen").catch(() => {}); // an empty battery refuses
  };
  const open = async () => {
    await outbox.open();
    const fresh = performance.getEntriesByType?.("navigation")[0];
    if (fresh?.transferSize) outbox.lead = Math.round(performance.timeOrigin + fresh.responseStart - data.now);
    await outbox.prune(data.now);
    await outbox.count();
    setInterval(tick, 1000);
    if ("wakeLock" in navigator) {
      keepAwake();
      document.addEventListener("visibilitychange", keepAwake);
    }
    outbox.flush();
  };
  open().catch(() => ($("cannot").hidden = false));
})();
