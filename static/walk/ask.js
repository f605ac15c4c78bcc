// What the walk asks: one dialog for questions, one for the list of taps. Escape means: leave it.
(() => {
  const { el, button, feeder } = window.WalkDraw;
  const box = document.querySelector("[data-ask]");
  const list = document.querySelector("[data-so-far]");

  const show = (title, body, choices) => {
    const press = (work) => () => {
      box.close();
      work();
    };
    box.replaceChildren(el("h2", { id: "ask-title" }, title), ...body, el("div", { class: "choices" }, ...choices.map(([text, work], i) => button(text, { autofocus: !i && !body.some((part) => part.autofocus) }, press(work)))));
    delete box.dataset.notice;
    if (!box.open) box.showModal();
  };
  // The keyboard goes on in the thumb's zone, which may have been drawn anew under the dialog.
  box.addEventListener("close", () => document.activeElement === document.body && document.querySelector("[data-thumb] button")?.focus());

  const choose = (title, choices, text) => show(title, text ? [el("p", {}, text)] : [], choices);

  const note = (done) => {
    const text = el("textarea", { rows: 4, id: "what-is-wrong", maxlength: 2000, autofocus: true });
    show("Something is wrong", [el("label", { for: "what-is-wrong" }, "What did you see?"), text], [
      ["Note it", () => text.value.trim() && done(text.value.trim())],
      ["Leave it", () => {}],
    ]);
  };

  const number = (id, label, value, most) => {
    const input = el("input", { type: "number", id, min: 1, max: most, step: "any", inputmode: "decimal", value });
    return [input, el("p", { class: "many" }, el("label", { for: id }, label), input)];
  };
  // What was used of late and the usual sizes, or anything else by name and size.
  const prey = (feeders, [name, mm, count], remark, done) => {
    const [many, howMany] = number("how-many", "How many", count, 99);
    const [size, howLong] = number("how-long", "mm", "", 200);
    const other = el("input", { id: "other-prey", maxlength: 40, autocomplete: "off", class: "wide" });
    const chosen = (one) => () => done([...one, Math.max(1, Math.min(99, Math.round(Number(many.value)) || 1))]);
    const same = ([prey_, size_]) => prey_ === name && size_ === mm;
    const first = [...feeders].sort((a, b) => same(b) - same(a));
    show("Prey", [howMany], [
      ...first.map((one) => [feeder(...one).replace(/, one$/, "") + remark(one), chosen(one)]),
      ...(feeders.some(same) ? [] : [[feeder(name, mm).replace(/, one$/, ""), chosen([name, mm])]]),
    ]);
    const something = el("p", { class: "many" }, el("label", { for: "other-prey" }, "Or"), other);
    const use = button("Use this", {}, () => {
      if (!other.value.trim()) return other.focus();
      box.close();
      chosen([other.value.trim(), Number(size.value) > 0 ? Number(size.value) : null])();
    });
    box.append(el("div", { class: "other" }, something, howLong), el("div", { class: "choices" }, use, button("As it was", {}, () => box.close())));
  };

  // Tells once; false when another question is open, which must not be lost for it.
  const signedOut = (door, done) => {
    if (box.open) return false;
    show("Signed out", [
      el("p", {}, "Nothing is lost: what you tapped stays on this phone and goes on its way once you have signed in. You can go on with the walk."),
      el("p", {}, el("a", { href: door, target: "_blank", rel: "noopener" }, "Sign in, in a new tab")),
    ], [["Go on", done]]);
    box.dataset.notice = "signed-out";
    return true;
  };
  const signedIn = () => {
    if (box.open && box.dataset.notice === "signed-out") box.close();
  };

  const notKept = (error) => {
    const full = error?.name === "QuotaExceededError" ? "its storage is full" : "the browser would not store it";
    show("Not noted", [el("p", {}, `This phone could not keep that tap: ${full}. Nothing was logged. Make room and tap again, or log it on the animal’s own page.`)], [["I see", () => {}]]);
  };

  const soFar = (draw) => {
    list.showModal();
    draw?.();
    list.querySelector("[data-close]").focus();
  };
  list.querySelector("[data-close]").addEventListener("click", () => list.close());
  const closed = async () => list.open && list.close();

  window.WalkAsk = { choose, note, prey, signedOut, signedIn, notKept, soFar, closed };
})();
