// Keeps the page of the latest walk and what it is made of, so that it opens without any network. Taps are not its
// business: they go through the outbox of the page as ever. What it keeps, it gives up when the house says so: a walk
// that is no longer this person's (a redirect to the door, 403, 404), and everything when somebody signs out.
const KEPT = "scopula-walk-1";
const PATIENCE = 4000; // ms until the kept page is shown instead
const WALK = /^\/walks\/\d+\/$/;

addEventListener("install", () => skipWaiting());
addEventListener("activate", (event) => event.waitUntil(clients.claim()));

// The page tells what it is made of. An older walk's page goes; the files stay as long as this page names them.
addEventListener("message", (event) => event.data?.keep && event.waitUntil(keep(event.data.keep)));

const keep = async (paths) => {
  const store = await caches.open(KEPT);
  for (const path of paths) {
    const isPage = WALK.test(path);
    if (!isPage && (await store.match(path))) continue; // its name changes with its content
    const answer = await fetch(path, { credentials: "same-origin", redirect: "manual" });
    if (answer.ok) await store.put(path, answer);
  }
  for (const { url } of await store.keys()) if (!paths.includes(new URL(url).pathname)) await store.delete(url);
};

const forget = (path) => caches.open(KEPT).then((store) => store.delete(path));

const page = async (request) => {
  const { pathname } = new URL(request.url);
  const stop = new AbortController();
  const patience = setTimeout(() => stop.abort(), PATIENCE);
  try {
    const answer = await fetch(request, { signal: stop.signal });
    if (answer.status >= 500) return (await caches.match(pathname)) ?? answer;
    if (!answer.ok) await forget(pathname);
    return answer;
  } catch (error) {
    const kept = await caches.match(pathname);
    if (kept) return kept;
    throw error;
  } finally {
    clearTimeout(patience);
  }
};

addEventListener("fetch", (event) => {
  const { request } = event;
  const { origin, pathname } = new URL(request.url);
  if (origin !== location.origin) return;
  if (request.method === "POST" && pathname === "/sign-out/") event.waitUntil(caches.delete(KEPT));
  if (request.method !== "GET") return;
  if (request.mode === "navigate" && WALK.test(pathname)) event.respondWith(page(request));
  else if (pathname.startsWith("/static/")) event.respondWith(caches.match(pathname).then((kept) => kept ?? fetch(request)));
});
