// What every room does: sends what a button asks, and stops a run from anywhere.
"use strict";
const govrig = (() => {
  const $ = (id) => document.getElementById(id);
  function tell(text) { $("told").hidden = !text; $("told").textContent = text; }
  // ask posts JSON; it gives the reply, null where there is none, or undefined
  // after it has told what is wrong.
  async function ask(what, body) {
    tell("");
    try {
      const r = await fetch(what, { method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify(body) });
      if (!r.ok) { tell(await r.text()); return undefined; }
      return r.status === 204 ? null : await r.json();
    } catch {
      tell("The program does not answer any more: look at its window.");
      return undefined;
    }
  }
  async function fragment(what, into) {
    const r = await fetch(what);
    const text = await r.text();
    if (!r.ok) { tell(text); return; }
    into.innerHTML = text; // a page of this program, cleaned where it was written
  }

  document.addEventListener("click", async (e) => {
    const b = e.target.closest("button[data-choose]");
    if (!b) return;
    const to = b.dataset.to || (document.body.dataset.virtual === "true" ? "virtual" : "bench");
    if (await ask("choose", { file: b.dataset.choose, virtual: to === "virtual" }) !== undefined) location.assign("./");
  });
  if ($("look")) {
    $("look").addEventListener("click", async () => {
      $("looking").textContent = "Looking; that takes up to nine seconds.";
      await fragment("ports", $("ports"));
      $("looking").textContent = "";
    });
  }

  // Escape stops a run from every room, and so does the space bar where no
  // control has the focus.
  let going = false;
  document.addEventListener("keydown", (e) => {
    const free = e.target === document.body || e.target === document.documentElement;
    if (going && (e.key === "Escape" || e.key === " " && free)) { e.preventDefault(); ask("stop", {}); }
  });
  document.addEventListener("govrig", (e) => { going = e.detail.walking; });
  if ($("going")) {
    const source = new EventSource("events");
    source.addEventListener("state", (e) => {
      const state = JSON.parse(e.data);
      going = state.walking;
      $("going").hidden = !going;
      $("going-text").textContent = (state.title || "A test") + " is under way.";
      $("stop").disabled = state.stopping;
    });
    source.addEventListener("error", () => { source.close(); $("going").hidden = true; });
    $("stop").addEventListener("click", () => ask("stop", {}));
    addEventListener("pagehide", () => source.close());
  }
  return { $, ask, tell, fragment };
})();
