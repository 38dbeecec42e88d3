// The form of the machine: what is wrong is told at its field while one types,
// and what follows is drawn anew.
"use strict";
(() => {
  const { $, ask, tell } = govrig;
  const fault = (id, text) => {
    const at = $(id + "-fault"), input = $(id);
    if (!at) return false;
    at.hidden = !text; at.textContent = text || "";
    input.setAttribute("aria-invalid", text ? "true" : "false");
    return true;
  };
  const form = $("machine");
  if (form) {
    const first = new Map([...form.elements].filter((e) => e.name).map((e) => [e.name, e.value]));
    const changes = () => Object.fromEntries([...form.elements].filter((e) => e.name && e.value !== first.get(e.name)).map((e) => [e.name, e.value]));
    function told(d) {
      const loose = [];
      for (const e of form.elements) if (e.name) fault(e.name, "");
      for (const [path, text] of Object.entries(d.faults)) if (!fault(path, text)) loose.push(path ? path + ": " + text : text);
      tell(loose.join("\n"));
      $("cautions").replaceChildren(...d.cautions.map((text) => { const li = document.createElement("li"); li.className = "warn"; li.textContent = text; return li; }));
      if (d.linkage) { $("linkage").innerHTML = d.linkage; $("sheet").textContent = d.sheet; }
    }
    let waiting = 0, asked = 0;
    form.addEventListener("input", () => {
      $("saved").textContent = "not saved yet";
      clearTimeout(waiting);
      waiting = setTimeout(async () => {
        const mine = ++asked, d = await ask("check", { changes: changes() });
        if (d && mine === asked) told(d);
      }, 30);
    });
    form.addEventListener("submit", async (e) => {
      e.preventDefault();
      const sent = changes(), d = await ask("save", { base: form.dataset.base, changes: sent });
      if (!d) return;
      told(d);
      if (!d.saved) { $("saved").textContent = "Nothing was saved: put right what is marked."; return; }
      for (const [name, value] of Object.entries(sent)) first.set(name, value);
      form.dataset.base = d.base;
      $("saved").textContent = "Saved.";
    });
    addEventListener("beforeunload", (e) => { if (Object.keys(changes()).length) e.preventDefault(); });
  }
  $("new").addEventListener("submit", async (e) => {
    e.preventDefault();
    const answers = Object.fromEntries(new FormData(e.target)), d = await ask("new", answers);
    if (d === undefined) return;
    if (d === null) { location.assign("./"); return; }
    const loose = [];
    for (const path of Object.keys(answers)) fault("new-" + path, "");
    for (const [path, text] of Object.entries(d.faults)) if (!fault("new-" + path, text)) loose.push(path + ": " + text);
    tell(loose.join("\n"));
  });
  $("example").addEventListener("submit", async (e) => {
    e.preventDefault();
    if (await ask("example", { quirk: $("quirk").value }) !== undefined) location.assign("tests");
  });
})();
