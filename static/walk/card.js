// Drawing one stop: the card with what the hand needs, and the cells within reach of the thumb.
(() => {
  const NS = "http://www.w3.org/2000/svg";
  const SEX = {
    female: ["m-f-sure", "female"], probably_female: ["m-f", "probably female"],
    male: ["m-m-sure", "male"], probably_male: ["m-m", "probably male"],
    unsexed: ["m-u", "unsexed"], conflict: ["m-clash", "sex evidence in conflict"], group: ["m-group", "group"],
  };
  const VENOM = ["", "mild", "strong", "medically significant"];
  const HAIRS = ["", "hairs on contact", "kicks hairs readily", "strong hairs"];

  const el = (name, attributes = {}, ...children) => {
    const node = document.createElement(name);
    for (const [key, value] of Object.entries(attributes)) {
      if (value === true) node.setAttribute(key, "");
      else if (value !== false && value != null) node.setAttribute(key, value);
    }
    node.append(...children.filter((child) => child != null && child !== false));
    return node;
  };
  const svg = (name, attributes) => {
    const node = document.createElementNS(NS, name);
    for (const [key, value] of Object.entries(attributes)) node.setAttribute(key, value);
    return node;
  };
  const mark = (id, label) => {
    const node = svg("svg", label ? { class: "m", role: "img", "aria-label": label } : { class: "m", "aria-hidden": "true" });
    node.append(svg("use", { href: `#${id}` }));
    return node;
  };
  const button = (text, attributes, press) => {
    const node = el("button", { type: "button", ...attributes }, text);
    node.addEventListener("click", press);
    return node;
  };
  // Italics are scientific names; cf., sp., × and brackets stay upright.
  const sci = (name) =>
    name.split(/(\b(?:cf|aff|sp|spp)\.|×|\(.*?\))/).map((part, i) => (i % 2 || !part.trim() ? part : el("i", { class: "sci" }, part)));
  const feeder = (prey, mm, number = 1) => [prey || "prey not named", mm && `${mm}\u00a0mm`, number > 1 ? `${number}` : "one"].filter(Boolean).join(", ");
  // Where a tap is: on this phone only, with the house, or refused by it. Always the word with the mark.
  const state = ({ saved, refused }) => (refused ? [el("b", {}, "refused")] : [mark(saved ? "m-saved" : "m-noted"), saved ? " saved" : " noted"]);

  const caution = ([, , venom, hairs, note, group]) => {
    if (venom == null && hairs == null && !note) return ["", "Hazard class not on record. Treat it with care."];
    const word = group === "scorpion" ? "sting" : "bite";
    const classes = [venom != null && `V${venom}`, hairs != null && `H${hairs}`].filter(Boolean).join(", ");
    const words = [venom && `${VENOM[venom]} ${word}`, hairs && HAIRS[hairs], note].filter(Boolean).join("; ");
    const care = [venom > 1 && "Long tools; catch cup in reach.", hairs && "Glasses on; never rub an eye."].filter(Boolean).join(" ");
    return [classes && `${classes}${words ? ":" : "."}`, [words && ` ${words}.`, care && ` ${care}`].filter(Boolean).join("")];
  };
  const hazard = (taxon) => {
    const [, , venom, hairs] = taxon;
    const [classes, words] = caution(taxon);
    const sign = Math.max(venom, hairs) ? mark(venom >= hairs ? "m-bite" : "m-hair") : null;
    return el("div", { class: `hazard c${Math.max(venom, hairs)}` }, sign, el("p", {}, el("b", {}, classes), words));
  };

  const meals = (days, offered) => {
    const fig = svg("svg", { class: "fig", height: 50, role: "img", "aria-label": `Meals of eight weeks: ${offered.filter((m) => m[1]).length} taken, ${offered.filter((m) => !m[1]).length} not` });
    fig.append(svg("line", { class: "base", x1: "0%", x2: "100%", y1: 34, y2: 34 }));
    for (const [day, taken] of offered) {
      fig.append(svg("rect", { class: taken ? "dot" : "ring", x: `${Math.min((day / days) * 98, 97)}%`, y: taken ? 14 : 36, width: taken ? 4 : 5, height: taken ? 20 : 10 }));
    }
    fig.append(svg("line", { class: "pin", x1: "98.5%", x2: "98.5%", y1: 6, y2: 40 }), svg("circle", { class: "pinhead", cx: "98.5%", cy: 6, r: 5 }));
    return el("figure", { class: "recent" }, fig, el("figcaption", {}, "eight weeks: above the line taken, below not"));
  };

  const reason = ([urgency, plate, sentence]) =>
    el("p", { class: "reason" }, el("span", { class: `plate ${urgency === "due" ? "now" : urgency}` }, plate), " ", sentence);

  const lastPrey = ([prey, mm]) => el("p", { class: "seen quiet" }, `Last prey ${feeder(prey, mm).replace(/, one$/, "")}.`);
  const watered = (days) => el("p", { class: "seen quiet" }, `Water ${days === 0 ? "today" : days === 1 ? "yesterday" : `${days} days ago`}.`);

  // `seen` are the taps of this walk here, each with its label; `tapped` the animals that have one.
  const card = (data, stop, who, seen, tapped) => {
    const animal = stop[4][who];
    const taxon = data.taxa[animal[2]];
    const [id, label] = SEX[animal[3]];
    const box = document.createDocumentFragment();
    const page = el("a", { class: "code", href: data.animal.replace("/0/", `/${animal[0]}/`), target: "_blank", rel: "noopener" }, animal[1]);
    box.append(...[
      hazard(taxon),
      el("div", { class: "id" }, el("p", { class: "spot" }, stop[2]), page),
      stop[4].length > 1 && el("div", { class: "who", role: "group", "aria-label": "Who in this enclosure" },
        ...stop[4].map((one, i) => el("button", { type: "button", "data-who": i, "aria-pressed": String(i === who) }, one[1], tapped.has(one[0]) && " ", tapped.has(one[0]) && mark("m-check", "tapped")))),
      el("h2", {}, mark(id, label), " ", ...sci(taxon[0])),
      el("p", { class: "auth" }, [taxon[1], animal[4], animal[10] > 1 ? `${animal[10]} heads` : ""].filter(Boolean).join(" · ")),
      ...animal[5].map(reason),
      animal[6] && !animal[5].some((r) => r[0] === "held") && reason(["held", "held", animal[6]]),
      !animal[5].length && !animal[6] && el("p", { class: "reason" }, "Nothing is due."),
      animal[9] && lastPrey(animal[9]),
      stop[3] != null && watered(stop[3]),
      animal[11] && el("div", { class: "who works", role: "group", "aria-label": "What was left in" },
        ...[["ate", "It ate it"], ["removed", "Taken out"]].map(([kind, name]) => el("button", { type: "button", "data-left": kind, "aria-pressed": String(seen.some((tap) => tap.kind === kind)) }, name))),
      stop[5].length && el("div", { class: "who works", role: "group", "aria-label": "Upkeep of this enclosure" },
        ...stop[5].map(([kind, name]) => el("button", { type: "button", "data-work": kind, "aria-pressed": String(seen.some((tap) => tap.work === kind)) }, name))),
      ...seen.map((tap) => el("p", { class: "seen" }, el("b", {}, tap.label), " ", el("span", { class: "st", "data-st": tap.key }, ...state(tap)))),
      meals(data.days, animal[7]),
    ].filter(Boolean));
    return box;
  };

  const ruler = (fig, count, at, states) => {
    fig.replaceChildren();
    fig.setAttribute("aria-label", `stop ${at + 1} of ${count}, ${Object.keys(states).length} with a tap`);
    const step = Math.max(1, Math.ceil(count / 120));
    for (let i = 0; i < count; i += step) {
      const x = `${((i + 0.5) / count) * 100}%`;
      fig.append(svg("line", { class: `tk ${states[i] || ""}`, x1: x, x2: x, y1: 8, y2: 22 }));
    }
    const x = `${((at + 0.5) / count) * 100}%`;
    fig.append(svg("line", { class: "pin", x1: x, x2: x, y1: 0, y2: 26 }), svg("circle", { class: "pinhead", cx: x, cy: 4, r: 5 }));
  };

  window.WalkDraw = { el, mark, button, state, card, ruler, feeder };
})();
