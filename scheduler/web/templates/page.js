// What another person records, and what was found meanwhile, appears without a reload. Without this script the page does all the same, when it is loaded again.
"use strict";
(() => {
  const AGAIN = 5000; // ms after which a page that stays all the same has its stream again
  const ASK_AGAIN = 60000; // ms after which a stream that was refused is asked for again
  let source = null, wanted = "", busy = false, again = false;
  const shown = () => document.body.dataset.position;
  const say = (words) => { document.querySelector(".live").textContent = words; };
  const all = (selector, root = document) => [...root.querySelectorAll(selector)];

  const changed = (field) => field.tagName === "SELECT"
    ? field.selectedIndex !== Math.max(0, [...field.options].findIndex((option) => option.defaultSelected))
    : field.value !== field.defaultValue || field.checked !== field.defaultChecked;
  const typing = () => all("main input:not([type=hidden]), main textarea, main select").some((field) => field === document.activeElement || changed(field));
  const asks = () => document.querySelector("main").dataset.asks;
  const ledger = (at) => at.split(".").slice(0, 2).join("."); // then come how often what would help was found, and how many days were worked out
  const mine = (at) => `${ledger(at)} ${at.split(".")[asks() ? 3 : 2]}`; // a page shows one of them
  const found = () => asks() ? "More was worked out" : "What would help was found";
  const news = (at) => ledger(at) === ledger(shown()) ? found() : "Something was recorded elsewhere";
  const later = () => say(`${news(wanted)}. It is shown once you have sent or cleared what you typed.`);

  const isNew = () => mine(wanted) !== mine(shown());

  async function renew(told = true) {
    if (busy) { again = true; return; }
    if (typing()) { if (told) later(); return; }
    busy = true;
    try {
      const answer = await fetch(asks() ? location.pathname + location.search : location.pathname);
      const fresh = new DOMParser().parseFromString(await answer.text(), "text/html");
      const at = fresh.body.dataset.position;
      if (at && mine(at) === mine(shown())) return;
      if (!answer.ok) { say("Something was recorded elsewhere. Load the page again."); return; }
      wanted = at;
      if (typing()) { later(); return; }
      const words = news(at);
      const before = document.querySelector("main"), after = fresh.querySelector("main"), focus = document.activeElement;
      const open = all("details", before).map((one) => one.open);
      all("details", after).forEach((one, number) => { one.open = Boolean(open[number]); });
      const like = before.contains(focus) && all(focus.tagName, after).find((one) => one.textContent === focus.textContent && one.getAttribute("href") === focus.getAttribute("href"));
      before.replaceWith(document.adoptNode(after));
      document.title = fresh.title;
      document.body.dataset.position = at;
      if (like) like.focus({ preventScroll: true });
      say(`Shown anew: ${words[0].toLowerCase()}${words.slice(1)}.`);
    } catch {
      // no network just now: the stream says it again when there is
    } finally {
      busy = false;
      if (again) { again = false; if (isNew()) renew(); }
    }
  }

  function open() {
    if (source || document.visibilityState === "hidden") return;
    source = new EventSource("/live");
    source.onmessage = (event) => { wanted = event.data; if (isNew()) renew(); };
    source.onerror = () => { if (source && source.readyState === EventSource.CLOSED) { close(); setTimeout(look, ASK_AGAIN); } };
  }
  function look() { // where there were streams enough
    if (source || document.visibilityState === "hidden") return;
    renew(false);
    open();
  }
  function close() { if (source) source.close(); source = null; }

  document.addEventListener("visibilitychange", () => { if (document.visibilityState === "hidden") close(); else open(); }); // six streams are all a browser has
  window.addEventListener("beforeunload", () => { close(); setTimeout(open, AGAIN); }); // Firefox complains of a stream that a new page cuts
  window.addEventListener("pagehide", close);
  window.addEventListener("pageshow", open);
  document.addEventListener("focusout", () => setTimeout(() => { if (wanted && isNew()) renew(); }));
})();
