// The light: day, night or red, remembered on this device. Without a choice the page follows the system.
const root = document.documentElement;
root.dataset.js = "";
const current = () => root.dataset.light || (matchMedia("(prefers-color-scheme: dark)").matches ? "night" : "day");
// What the system draws beside the page follows: its bars take the ground's colour, and in red light no white calendar
// and no white list opens over the page; a date is typed instead.
const dress = () => {
  const ground = getComputedStyle(root).getPropertyValue("--ground").trim();
  document.querySelector("meta[name=theme-color]")?.setAttribute("content", ground);
  const red = current() === "red";
  for (const field of document.querySelectorAll("input[type=date], input[data-date]")) {
    field.dataset.date = "";
    field.type = red ? "text" : "date";
    field.placeholder = red ? "2026-03-14" : "";
  }
  for (const field of document.querySelectorAll("input[list], input[data-list]")) {
    field.dataset.list ??= field.getAttribute("list");
    if (red) field.removeAttribute("list");
    else field.setAttribute("list", field.dataset.list);
  }
};
const show = (light) => {
  if (light) root.dataset.light = light;
  for (const button of document.querySelectorAll("[data-set]")) {
    button.setAttribute("aria-pressed", String(button.dataset.set === current()));
  }
  dress();
};
try {
  show(localStorage.getItem("light"));
} catch {
  show(); // no storage: the system decides
}
addEventListener("DOMContentLoaded", () => show());
addEventListener("htmx:load", dress);
addEventListener("click", ({ target }) => {
  const button = target.closest("[data-set]");
  if (!button) return;
  show(button.dataset.set);
  try {
    localStorage.setItem("light", button.dataset.set);
  } catch {
    // not remembered
  }
});
