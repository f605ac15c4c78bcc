// What a walk gains under https: it opens again without any network, and the screen stays awake. Each is asked for by
// its name, never by the browser's; without them the walk is what it is on plain http.
(() => {
  const keepAwake = async () => {
    if (document.hidden) return;
    await navigator.wakeLock.request("screen").catch(() => {}); // an empty battery refuses
  };
  if ("wakeLock" in navigator) {
    keepAwake();
    document.addEventListener("visibilitychange", keepAwake); // the system lets go of it whenever the page is hidden
  }

  if (location.protocol !== "https:" || !("serviceWorker" in navigator)) return;
  navigator.storage?.persist?.(); // what the outbox holds is not to be swept away
  const parts = [...document.querySelectorAll("script[src], link[href]")].map((one) => new URL(one.src || one.href).pathname);
  const begin = async () => {
    await navigator.serviceWorker.register("/walk-worker.js");
    const { active } = await navigator.serviceWorker.ready;
    active.postMessage({ keep: [location.pathname, ...parts] });
  };
  begin().catch(() => {}); // a certificate that was clicked away: the walk works, and only needs the network to open
})();
