// The outbox: a tap is noted on the phone first, and counts as saved only when the house's answer repeats its key.
// Works on plain http: no service worker, no randomUUID. Two tabs may send the same tap; its key makes that harmless.
// A saved tap stays in the store until a page made later knows it: a page that a browser brings back may be older.
(() => {
  const SENT = ["key", "kind", "enclosure", "specimen", "at", "lead", "prey", "mm", "number", "reason", "text", "undoes", "work", "on_hold", "pair", "sitting", "since", "ending"];
  const PARCEL = 25, PATIENCE = 5000, SHORTEST = 1000, LONGEST = 30000, AT_THE_DOOR = 8000, TWO_DAYS = 172800000;

  const open = () =>
    new Promise((done, fail) => {
      setTimeout(() => fail(new Error("the store does not answer")), PATIENCE);
      const asked = indexedDB.open("scopula-walk", 1);
      asked.onupgradeneeded = () => {
        const store = asked.result.createObjectStore("taps", { keyPath: "id", autoIncrement: true });
        store.createIndex("key", "key", { unique: true });
      };
      asked.onsuccess = () => {
        asked.result.onversionchange = () => asked.result.close();
        done(asked.result);
      };
      asked.onerror = () => fail(asked.error);
    });

  const newKey = () => {
    const b = crypto.getRandomValues(new Uint8Array(16));
    b[6] = (b[6] & 15) | 64;
    b[8] = (b[8] & 63) | 128;
    const hex = [...b].map((n) => n.toString(16).padStart(2, "0")).join("");
    return hex.replace(/^(.{8})(.{4})(.{4})(.{4})(.{12})$/, "$1-$2-$3-$4-$5");
  };

  const noted = (tap) => !tap.saved && !tap.refused && !tap.away;
  const waits = (tap) => !tap.saved && !tap.away;

  class Outbox {
    // `walk` is what every tap of this page belongs to: {walk, began, address, by}. `changed` hears of every change.
    constructor(walk, changed) {
      Object.assign(this, { walk, changed, state: "", shut: new Map(), lead: null, pause: SHORTEST, timer: 0, sending: false, waiting: 0 });
    }

    // Rejects where this browser keeps nothing: then nothing may be called noted.
    async open() {
      this.db = await open();
      this.tabs = "BroadcastChannel" in window ? new BroadcastChannel("scopula-walk") : null;
      if (this.tabs) this.tabs.onmessage = () => this.count().catch(() => {});
      addEventListener("online", () => this.flush());
      addEventListener("pageshow", () => this.flush());
      document.addEventListener("visibilitychange", () => document.hidden || this.flush());
      addEventListener("beforeunload", (event) => {
        if (!this.waiting || !this.walk.walk) return; // beside the walk nothing more is tapped
        event.preventDefault();
        event.returnValue = "taps are waiting"; // older browsers want a text, and show their own
      });
    }

    async deal(mode, work) {
      try {
        return await this.dealOnce(mode, work);
      } catch (error) {
        if (!["InvalidStateError", "UnknownError"].includes(error?.name)) throw error;
        this.db = await open(); // the system took the store away while the page slept
        return this.dealOnce(mode, work);
      }
    }

    dealOnce(mode, work) {
      return new Promise((done, fail) => {
        const deal = this.db.transaction("taps", mode, { durability: "strict" });
        const asked = work(deal.objectStore("taps"));
        deal.oncomplete = () => done(asked?.result);
        deal.onabort = deal.onerror = () => fail(deal.error ?? asked?.error);
      });
    }

    // Noted: `kept` hears of it once the phone has it for good; rejects when it has not.
    async add(tap, kept) {
      const made = { ...tap, key: newKey(), at: new Date().toISOString(), ...this.walk };
      if (this.lead !== null) made.lead = this.lead;
      made.id = await this.deal("readwrite", (taps) => taps.add(made));
      kept(made);
      await this.tell();
      this.pause = SHORTEST;
      this.flush();
    }

    all() {
      return this.deal("readonly", (taps) => taps.getAll());
    }

    // Count anew, here and in the other tabs.
    tell() {
      this.tabs?.postMessage("");
      return this.count();
    }

    async count() {
      const all = await this.all();
      this.waiting = all.filter(waits).length;
      this.changed({ all, state: this.state, shut: this.shut });
      return all;
    }

    // Change entries as they stand now, in one go; another tab may have changed them since. Saved stays saved.
    settle(changes) {
      return this.deal("readwrite", (taps) => {
        for (const [id, change] of changes) {
          const asked = taps.get(id);
          asked.onsuccess = () => asked.result && !asked.result.saved && taps.put({ ...asked.result, ...change });
        }
      });
    }

    again(id) {
      return this.settle([[id, { refused: undefined }]]).then(() => this.flush());
    }

    putAway(id) {
      return this.settle([[id, { away: this.houseTime() }]]).then(() => this.tell());
    }

    houseTime() {
      return Date.now() - (this.lead ?? 0);
    }

    // What a page made at `now`, by the house's clock, knows already need not be kept; nor what is long settled.
    async prune(now) {
      const known = ({ walk, saved, away }) => {
        const settled = Math.max(saved || 0, away || 0);
        return (saved && saved < now && walk === this.walk.walk) || (settled && settled < now - TWO_DAYS);
      };
      const ids = (await this.all()).filter(known).map(({ id }) => id);
      if (ids.length) await this.deal("readwrite", (taps) => ids.map((id) => taps.delete(id)).at(-1));
    }

    async flush() {
      if (this.sending) return;
      this.sending = true;
      clearTimeout(this.timer);
      let settled = 0;
      try {
        const all = await this.all();
        const addresses = [...new Set(all.filter(noted).map((tap) => tap.address))];
        this.shut = new Map();
        for (const address of addresses) settled += await this.empty(address, all);
        this.state = "";
      } catch (error) {
        this.state = error.message === "signed out" ? "signed-out" : "away";
      } finally {
        this.sending = false;
        const all = await (settled ? this.tell() : this.count()).catch(() => []);
        if (all.some(noted)) this.later(settled > 0);
      }
    }

    later(soon) {
      clearTimeout(this.timer);
      if (soon) this.pause = SHORTEST / 4;
      const most = this.state === "signed-out" ? AT_THE_DOOR : LONGEST;
      this.timer = setTimeout(() => this.flush(), Math.min(this.pause, most) * (0.75 + Math.random() / 2));
      this.pause = Math.min(this.pause * 2, LONGEST);
    }

    // Send what belongs to one walk, parcel by parcel; returns how many taps were settled.
    async empty(address, all) {
      const mine = all.filter((tap) => tap.address === address && noted(tap));
      let settled = 0;
      for (let start = 0; start < mine.length && !this.shut.has(address); start += PARCEL) {
        const parcel = mine.slice(start, start + PARCEL);
        const others = (await this.all()).filter(waits).length - parcel.length;
        settled += await this.send(address, parcel, others);
      }
      return settled;
    }

    async send(address, parcel, others) {
      const stop = new AbortController();
      const patience = setTimeout(() => stop.abort(), PATIENCE);
      try {
        const taps = parcel.map((tap) => Object.fromEntries(SENT.filter((name) => tap[name] !== undefined).map((name) => [name, tap[name]])));
        const body = JSON.stringify({ taps, began: parcel[0].began, waiting: others, sent_at: new Date().toISOString() });
        const asked = { method: "POST", body, redirect: "error", credentials: "same-origin", cache: "no-store", signal: stop.signal };
        const answer = await fetch(address, { ...asked, headers: { "Content-Type": "application/json" } });
        const said = await answer.json(); // a portal's or a sign-in page is no JSON: it throws, and all stays
        if (answer.status === 401) throw new Error("signed out");
        if ([403, 404].includes(answer.status) && said.error) return this.shut.set(address, said.error) && 0;
        if (answer.status === 400 && said.error) return await this.answered(parcel, {}, [], said.error);
        if (!answer.ok) throw new Error(String(answer.status));
        if (Number.isFinite(said.now)) this.lead = Math.round(Date.now() - said.now);
        return await this.answered(parcel, said.refused ?? {}, said.saved ?? []);
      } finally {
        clearTimeout(patience);
      }
    }

    async answered(parcel, refused, saved, all) {
      const changes = [];
      for (const { id, key } of parcel) {
        if (saved.includes(key)) changes.push([id, { saved: this.houseTime(), refused: undefined }]);
        else if (all || refused[key]) changes.push([id, { refused: all || refused[key] }]);
      }
      if (changes.length) await this.settle(changes);
      return changes.length; // what was not mentioned stays, and comes again
    }
  }

  Object.assign(Outbox, { noted, waits, newKey });
  window.Outbox = Outbox;
})();
