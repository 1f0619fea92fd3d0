// A press is kept on the phone before it is sent, and sent until it is answered: where there is no connection, when it is back.
// The key in the form makes it count once, however often it is sent. Without this script the forms are sent as they are.
"use strict";
(() => {
  const AGAIN = 5000; // ms between two tries
  const AT_ONCE = 30000; // ms after a press in which who pressed is still looking
  const SENT = ["/done", "/later", "/drop", "/seen", "/undo", "/pulled", "/reading", "/release", "/hive", "/larvae"]; // not /as-planned, which asks first and needs a connection for it
  let sending = false, waits = false;
  const say = (words) => { document.querySelector(".live").textContent = words; };
  const ask = (request) => new Promise((good, bad) => { request.onsuccess = () => good(request.result); request.onerror = () => bad(request.error); });

  async function kept(mode, use) {
    const opening = indexedDB.open("afterpull", 1);
    opening.onupgradeneeded = () => opening.result.createObjectStore("marks", { keyPath: "key" });
    const base = await ask(opening);
    try {
      const change = base.transaction("marks", mode), over = new Promise((good, bad) => { change.oncomplete = good; change.onabort = () => bad(change.error); });
      const found = await ask(use(change.objectStore("marks")));
      await over;
      return found;
    } finally {
      base.close();
    }
  }
  const keep = (mark) => kept("readwrite", (store) => store.put(mark));
  const forget = (key) => kept("readwrite", (store) => store.delete(key));
  const all = async () => (await kept("readonly", (store) => store.getAll())).sort((one, other) => one.pressed - other.pressed);

  async function list() {
    const marks = await all(), part = document.querySelector(".unsent"), rows = part.querySelector("ul");
    part.hidden = !marks.length;
    waits = marks.some((one) => !one.refused);
    rows.replaceChildren(...marks.map((mark) => {
      const row = document.createElement("li"), button = document.createElement("button");
      row.append(`${mark.title} (pressed ${new Date(mark.pressed).toLocaleString([], { weekday: "short", hour: "2-digit", minute: "2-digit", hour12: false })}). ${mark.refused || ""} `);
      button.type = "button";
      button.textContent = "Do not send it";
      button.append(Object.assign(document.createElement("span"), { className: "quiet", textContent: `: ${mark.title}` }));
      button.addEventListener("click", async () => { await forget(mark.key); await list(); });
      row.append(button);
      return row;
    }));
  }

  function show(fresh, address) {
    const main = document.adoptNode(fresh.querySelector("main"));
    document.querySelector("main").replaceWith(main);
    document.title = fresh.title;
    if (fresh.body.dataset.position) document.body.dataset.position = fresh.body.dataset.position;
    if (address) history.replaceState(null, "", address);
    main.tabIndex = -1;
    main.focus();
    scrollTo(0, 0);
  }
  const read = async (answer) => new DOMParser().parseFromString(await answer.text(), "text/html");

  function post(mark, token) {
    const body = new URLSearchParams(mark.fields), ago = Math.floor((Date.now() - mark.pressed) / 1000);
    if (token) body.set("token", token);
    if (ago >= 60) body.set("ago", ago); // by this phone's clock alone, which may be wrong
    return fetch(mark.path, { method: "POST", body });
  }

  // True where the mark is answered for good, or waits for the keeper; false where there was no answer.
  async function send(mark) {
    let answer = await post(mark);
    if (answer.status === 403) { // the server was started again: its forms have another token now
      const token = (await read(await fetch("/"))).querySelector("main input[name=token]");
      if (token) answer = await post(mark, token.value);
    }
    if (answer.redirected && answer.ok) {
      const noted = await read(answer);
      await forget(mark.key);
      say("Recorded.");
      show(noted);
      const where = `/?said=${new URL(answer.url).pathname.split("/").pop()}`; // the receipt: a key stands in no address
      const work = await fetch(where);
      if (work.ok) show(await read(work), where);
      return true;
    }
    if (answer.ok) { show(await read(answer)); mark.refused = "It asks whether it was so."; } // the same key comes back with the answer
    else if ([400, 413, 422].includes(answer.status)) {
      const page = await read(answer);
      mark.refused = page.querySelector("[role=alert]").textContent;
      show(page);
      if (Date.now() - mark.pressed < AT_ONCE) { await forget(mark.key); return true; } // whoever pressed reads it in its place
    }
    else return false;
    await keep(mark);
    return true;
  }

  async function sendAll() {
    if (sending) return;
    sending = true;
    try {
      for (const mark of (await all()).filter((one) => !one.refused)) {
        if (!await send(mark)) { say("Not recorded yet: the machine that serves this page does not take it just now. It is sent again."); break; }
      }
    } catch {
      say("No connection. What you pressed is kept on this phone, and sent when there is one.");
    } finally {
      sending = false;
      await list();
    }
  }

  document.addEventListener("submit", async (event) => {
    const form = event.target, path = new URL(form.action).pathname;
    if (form.method !== "post" || !SENT.includes(path)) return;
    event.preventDefault();
    const fields = [...new FormData(form)], button = form.querySelector("button");
    try {
      await keep({ key: form.elements.key.value, path, fields, title: button.textContent, pressed: Date.now() });
    } catch {
      form.submit(); // nothing is kept here: it goes as it would without this script
      return;
    }
    button.disabled = true;
    form.reset();
    await sendAll();
    button.disabled = false;
  });
  document.addEventListener("click", async (event) => { // no, it was not so: nothing is left to send
    const no = event.target.closest("a.no"), key = document.querySelector("main form input[name=key]");
    if (!no || !key) return;
    event.preventDefault();
    await forget(key.value).catch(() => {});
    location.assign(no.href);
  });
  document.querySelector(".unsent .print").addEventListener("click", () => print());
  window.addEventListener("online", sendAll);
  window.addEventListener("offline", () => say("No connection. Press as usual: it is kept on this phone, and sent when there is one."));
  document.addEventListener("visibilitychange", () => { if (document.visibilityState === "visible") sendAll(); });
  setInterval(() => { if (waits) sendAll(); }, AGAIN);
  sendAll().catch(() => {});
})();
