// The list of this walk's taps, newest first, and what waits on this phone: what was refused stands on top.
(() => {
  const { el, button, state } = window.WalkDraw;
  const NEWEST = 60;

  const row = (tap, spot, said, ...more) =>
    el("li", { class: tap.refused ? "stuck" : "" }, el("span", { class: "spot" }, spot), el("span", {}, said, ...more), el("span", { class: "st" }, ...state(tap)));

  // A tap that the house does not take: why, and what can be done.
  const stuck = (entry, why, outbox, undone) => {
    const line = row(entry, entry.spot, entry.said + (undone ? " (undone)" : ""), el("b", {}, ` ${why}`));
    const again = entry.refused && button("Try again", {}, () => outbox.again(entry.id));
    line.append(el("span", { class: "mend" }, again, button("Put it away", {}, () => outbox.putAway(entry.id))));
    return line;
  };

  const trouble = (box, state_, door, outbox) => {
    const others = [...outbox.shut.values()];
    if (state_ === "signed-out" || others.length) {
      const why = others.length ? "Some taps are another person’s." : "Signed out: what you tapped stays on this phone.";
      return el("p", { class: "says" }, `${why} `, el("a", { href: door, target: "_blank", rel: "noopener" }, "Sign in, in a new tab"), ".");
    }
    if (state_ === "away") return el("p", { class: "says" }, "The house does not answer. What you tapped stays on this phone and goes by itself.");
    return outbox.waiting ? null : el("p", { class: "says" }, "All of it is saved.");
  };

  // `page` knows the taps of its own walk: {taps, walk, spotOf, label, undone, undo}; `all` is everything in the store.
  const draw = (box, page, all, outbox) => {
    const { door } = box.dataset;
    const waiting = all.filter(window.Outbox.waits);
    const why = (entry) => entry.refused || outbox.shut.get(entry.address);
    const held = waiting.filter(why);
    const others = waiting.filter((entry) => !why(entry) && entry.walk !== page.walk);
    const shown = new Set(held.map(({ key }) => key));
    const mine = [...page.taps].reverse().filter((tap) => !shown.has(tap.key) && !tap.away && tap.kind !== "undo").slice(0, NEWEST);
    box.replaceChildren(
      ...[trouble(box, outbox.state, door, outbox)].filter(Boolean),
      el("ol", {},
        ...held.map((entry) => stuck(entry, why(entry), outbox, page.undone().has(entry.key))),
        ...others.map((entry) => row(entry, entry.spot, `${entry.said} (${entry.name})`)),
        ...mine.map((tap) => {
          const undone = page.undone().has(tap.key);
          const line = row(tap, page.spotOf(tap), page.label(tap) + (undone ? " (undone)" : ""));
          if (!undone) line.append(button("Undo", { "aria-label": `Undo ${page.spotOf(tap)}, ${page.label(tap)}` }, () => page.undo(tap)));
          return line;
        }),
      ),
    );
  };

  window.WalkSoFar = draw;
})();
