// The light: day, night or red, remembered on this device. Without a choice the page follows the system.
const root = document.documentElement;
root.dataset.js = "";
const current = () => root.dataset.light || (matchMedia("(prefers-color-scheme: dark)").matches ? "night" : "day");
const show = (light) => {
  if (light) root.dataset.light = light;
  for (const button of document.querySelectorAll("[data-set]")) {
    button.setAttribute("aria-pressed", String(button.dataset.set === current()));
  }
};
try {
  show(localStorage.getItem("light"));
} catch {
  show(); // no storage: the system decides
}
addEventListener("DOMContentLoaded", () => show());
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
