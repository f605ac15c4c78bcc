// The outbox: a tap is noted on the phone first, and leaves only when the house answers with its key.
// Works on plain http: no service worker, no randomUUID. Two tabs may send the same tap; its key makes that harmless.
(() => {
  const open = () =>
    new Promise((done, fail) => {
      const asked = indexedDB.open("scopula-walk", 1);
      asked.onupgradeneeded = () => {
        const store = asked.result.createObjectStore("taps", { keyPath: "id", autoIncrement: true });
        store.createIndex("key", "key", { unique: true });
      };
      asked.onsuccess = () => done(asked.result);
      asked.onerror = () => fail(asked.error);
    });

  const newKey = () => {
    const b = crypto.getRandomValues(new Uint8Array(16));
    b[6] = (b[6] & 15) | 64;
    b[8] = (b[8] & 63) | 128;
    const hex = [...b].map((n) => n.toString(16).padStart(2, "0")).join("");
    return hex.replace(/^(.{8})(.{4})(.{4})(.{4})(.{12})$/, "$1-$2-$3-$4-$5");
  };

  class Outbox {
    constructor(walk, address, changed) {
      Object.assign(this, { walk, address, changed, state: "", wait: 1000, timer: 0, sending: false });
      this.db = open();
      addEventListener("online", () => this.flush());
      addEventListener("pageshow", () => this.flush());
      document.addEventListener("visibilitychange", () => document.hidden || this.flush());
      addEventListener("beforeunload", (event) => this.waiting && event.preventDefault());
    }

    async store(mode, work) {
      const db = await this.db;
      return new Promise((done, fail) => {
        const deal = db.transaction("taps", mode, { durability: "strict" });
        const asked = work(deal.objectStore("taps"));
        deal.oncomplete = () => done(asked?.result);
        deal.onerror = deal.onabort = () => fail(deal.error);
      });
    }

    // Noted: resolves when the phone has it for good.
    async add(tap) {
      const entry = { ...tap, key: newKey(), at: new Date().toISOString(), walk: this.walk, address: this.address };
      entry.id = await this.store("readwrite", (taps) => taps.add(entry));
      await this.count();
      this.wait = 1000;
      this.flush();
      return entry;
    }

    all() {
      return this.store("readonly", (taps) => taps.getAll());
    }

    async count() {
      const all = await this.all();
      this.waiting = all.length;
      this.changed({ waiting: all, state: this.state });
      return all;
    }

    remove(id) {
      return this.store("readwrite", (taps) => taps.delete(id)).then(() => this.count());
    }

    async flush() {
      if (this.sending) return;
      this.sending = true;
      clearTimeout(this.timer);
      try {
        const ready = (await this.all()).filter((tap) => !tap.refused);
        const address = ready[0]?.address;
        const parcel = ready.filter((tap) => tap.address === address).slice(0, 100);
        if (parcel.length) await this.send(address, parcel, ready.length);
        else this.state = "";
      } catch {
        this.state = "away";
      } finally {
        this.sending = false;
        const all = await this.count();
        if (all.some((tap) => !tap.refused)) this.later();
      }
    }

    later() {
      clearTimeout(this.timer);
      this.timer = setTimeout(() => this.flush(), this.wait * (0.75 + Math.random() / 2));
      this.wait = Math.min(this.wait * 2, 30000);
    }

    async send(address, parcel, waiting) {
      const stop = new AbortController();
      const patience = setTimeout(() => stop.abort(), 5000);
      try {
        const taps = parcel.map(({ id, walk, address: _, refused, label, ...tap }) => tap);
        const body = JSON.stringify({ taps, sent_at: new Date().toISOString(), waiting: waiting - parcel.length });
        const asked = { method: "POST", body, redirect: "error", credentials: "same-origin", signal: stop.signal };
        const answer = await fetch(address, { ...asked, headers: { "Content-Type": "application/json" } });
        if (answer.status === 401) this.state = "signed-out";
        if (answer.status === 400 || answer.status === 404) return await this.refuse(parcel, (await answer.json()).error);
        if (!answer.ok) throw new Error(String(answer.status));
        const { saved, refused } = await answer.json(); // a portal's or a sign-in page is no JSON: it throws, all stays
        for (const tap of parcel) {
          if (saved?.includes(tap.key)) await this.store("readwrite", (taps_) => taps_.delete(tap.id));
          else if (refused?.[tap.key]) await this.refuse([tap], refused[tap.key]);
        }
        this.state = "";
        this.wait = 1000;
      } finally {
        clearTimeout(patience);
      }
    }

    async refuse(parcel, sentence) {
      for (const tap of parcel) {
        await this.store("readwrite", (taps) => taps.put({ ...tap, refused: sentence || "The house refused it." }));
      }
    }
  }

  window.Outbox = Outbox;
})();
