// What is entered on a page lasts in the browser, in two places, and the later one counts: Chromium (156) hands a file
// opened from disk an empty localStorage about once in ten loads, and other browsers may refuse such files an IndexedDB.
const store = {
  name: '', at: 0, base: null, saved: Promise.resolve(), begun: null,

  // Call `start` with what was kept under `name`, or undefined.
  open(name, start) {
    this.name = name;
    this.base = this.connect();
    this.base.catch(() => { /* save says it, if there is no other place */ });
    this.begun = this.load().then(start);
  },
  async connect() {
    const asked = indexedDB.open('modboard', 1);
    asked.onupgradeneeded = () => asked.result.createObjectStore('kept');
    return this.settled(asked);
  },
  settled(request) {
    return new Promise((yes, no) => {
      request.onsuccess = () => yes(request.result);
      request.onerror = () => no(request.error);
    });
  },
  async load() {
    const found = this.base.then(base => this.settled(base.transaction('kept').objectStore('kept').get(this.name)));
    const late = new Promise(yes => setTimeout(yes, 1000));
    const texts = [await Promise.race([found.catch(() => null), late])];
    try { texts.push(localStorage.getItem(this.name)); } catch { /* not allowed here */ }
    let value;
    for (const text of texts) {
      try {
        const [at, kept] = JSON.parse(text);
        if (at > this.at) [this.at, value] = [at, kept];
      } catch { /* nothing kept */ }
    }
    return value;
  },
  // Keep `value`; call `lost` if there is no place at all.
  save(value, lost) {
    this.at = Math.max(Date.now(), this.at + 1);
    const text = JSON.stringify([this.at, value]);
    let kept = false;
    try { localStorage.setItem(this.name, text); kept = true; } catch { /* not allowed here */ }
    this.saved = this.base.then(base => new Promise((yes, no) => {
      const change = base.transaction('kept', 'readwrite');
      change.objectStore('kept').put(text, this.name);
      change.oncomplete = yes;
      change.onabort = no;
    })).catch(() => { if (!kept) lost(); });
  },
};
