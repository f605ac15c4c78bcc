// Beside a walk's page: says how many taps still wait on this phone, and sends them.
(() => {
  const line = document.querySelector("[data-waiting]");
  const outbox = new window.Outbox({}, ({ all }) => {
    const waiting = all.filter(window.Outbox.waits).length;
    const refused = all.filter((tap) => window.Outbox.waits(tap) && tap.refused).length;
    const before = Number(line.dataset.waiting);
    if (refused) line.textContent = `${refused} tap${refused > 1 ? "s" : ""} of this phone ${refused > 1 ? "were" : "was"} refused; the walk says why.`;
    else if (waiting) line.textContent = `${waiting} tap${waiting > 1 ? "s" : ""} still on this phone: on the way to the house.`;
    else if (before) line.textContent = "All taps of this phone are saved. Load the page again to see them here.";
    line.dataset.waiting = waiting;
  });
  // Without a store nothing waits in it.
  outbox.open().then(() => outbox.flush(), () => {});
})();
