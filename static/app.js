// One listener for answers that did not come or could not be shown: a lasting bar with a way on, never silence.
const bars = () => document.getElementById("messages");
const say = (text) => {
  const bar = document.createElement("div");
  bar.className = "bar bar-error";
  const line = document.createElement("p");
  line.textContent = text;
  const again = document.createElement("button");
  again.textContent = "Load the page again";
  again.addEventListener("click", () => location.reload());
  bar.append(line, again);
  bars()?.replaceChildren(bar);
};
addEventListener("htmx:sendError", () => say("Not saved: the server did not answer. Check the wifi and try again."));
addEventListener("htmx:timeout", () => say("Not sure whether that was saved: the server took too long to answer."));
addEventListener("htmx:responseError", ({ detail }) => {
  if (detail.xhr.status !== 422) say(`Not saved: the server answered with an error (${detail.xhr.status}).`);
});
// The keyboard goes on where the page changed: at the undo of what was done, in a form that opened, at what was refused.
const REFUSED = ".wrong :is(input, select, textarea), .refusal ~ .row .strong";
addEventListener("htmx:afterSwap", ({ detail: { elt } }) => {
  if (elt.id === "log") return elt.focus({ preventScroll: true });
  const undo = elt.querySelector("[data-focus]");
  if (undo) undo.focus({ preventScroll: true });
  else elt.querySelector(REFUSED)?.focus();
});
// A filter that changes sends its form; without this the button does.
addEventListener("change", ({ target }) => {
  target.closest("form[data-send-on-change]")?.requestSubmit();
});
