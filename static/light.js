// The light: day, night or red, remembered on this device. Without a choice the page follows the system.
const root = document.documentElement;
root.dataset.js = "";
const lights = ["day", "night", "red"];
const current = () => root.dataset.light || (matchMedia("(prefers-color-scheme: dark)").matches ? "night" : "day");
const show = (light) => {
  if (light) root.dataset.light = light;
  for (const button of document.querySelectorAll("[data-set]")) {
    button.setAttribute("aria-pressed", String(button.dataset.set === current()));
  }
  for (const word of document.querySelectorAll("[data-light-now]")) word.textContent = current();
};
try {
  show(localStorage.getItem("light"));
} catch {
  show(); // no storage: the system decides
}
addEventListener("DOMContentLoaded", () => show());
addEventListener("click", ({ target }) => {
  const button = target.closest("[data-set], [data-next-light]");
  if (!button) return;
  const light = button.dataset.set || lights[(lights.indexOf(current()) + 1) % lights.length];
  show(light);
  try {
    localStorage.setItem("light", light);
  } catch {
    // not remembered
  }
});
