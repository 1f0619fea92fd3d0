// What is typed of a harvest stays on this phone until it is logged; without a connection it is not sent, and not lost.
"use strict";
(() => {
  const DRAFT = "harvest", form = document.querySelector("form[action='/harvest']");
  const draft = JSON.parse(localStorage.getItem(DRAFT) || "{}");
  if (!form) {
    if (draft.receipt && new URLSearchParams(location.search).get("said") === draft.receipt) localStorage.removeItem(DRAFT);
    return;
  }
  const fields = [...form.querySelectorAll("input:not([type=hidden]), select, textarea")];
  const keep = (more) => localStorage.setItem(DRAFT, JSON.stringify({ typed: Object.fromEntries(fields.map((one) => [one.name, one.value])), ...more }));
  const refused = document.querySelector("main [role=alert]"); // the form comes back as it was typed
  const say = (words) => { document.querySelector(".live").textContent = words; };
  if (draft.typed && !refused) {
    for (const one of fields) if (one.name in draft.typed) {
      one.value = draft.typed[one.name];
      if (one.value && one.name !== "frame2" && one.name !== "frame3" && one.closest("details")) one.closest("details").open = true;
    }
    say("As you typed it before, the hour of the pull too. Not logged yet.");
  }
  form.addEventListener("input", () => keep({}));
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    keep({ receipt: form.dataset.receipt });
    try {
      await fetch("/harvest", { method: "HEAD" });
    } catch {
      say("No connection. What you typed is kept on this phone: log it when there is one.");
      return;
    }
    form.submit();
  });
})();
