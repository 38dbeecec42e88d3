// The controls under a person's hands. Every beat is a sign of life: without one
// for a second the board goes safe.
"use strict";
(() => {
  const { $, ask, tell } = govrig;
  const number = (v, digits) => v.toFixed(digits).replace(/^-/, "−");
  let beating = 0;
  function let_go(text) {
    clearInterval(beating); beating = 0;
    $("hands").hidden = true; $("before").hidden = false;
    if (text) tell(text);
  }
  async function beat() {
    let r;
    try { r = await fetch("beat", { method: "POST", body: "{}" }); } catch { let_go("The program does not answer any more: look at its window."); return; }
    if (!beating) return;
    if (!r.ok) { let_go("The controls are let go: the board plays nothing."); return; }
    const s = await r.json();
    const put = (id, v, digits) => { $(id).textContent = v ? number(v, digits) : "–"; };
    put("width", s.throttle_us, 0); put("speed", s.engine_rpm, 0); put("rate", s.pulses_per_s, 0); put("turns", s.head_rpm, 0);
    put("stick-width", s.stick_us, 0); put("select-width", s.select_us, 0);
    for (const [id, v] of [["travel", s.travel_percent], ["barrel", s.barrel_percent]]) {
      $(id).textContent = s.throttle_us ? number(v, 0) : "–";
      $(id + "-bar").style.width = Math.max(0, Math.min(100, v)) + "%";
    }
  }
  $("take").addEventListener("click", async () => {
    if (await ask("hold", { safe: true }) === undefined) return;
    $("before").hidden = true; $("hands").hidden = false;
    for (const input of $("hands").querySelectorAll("input")) input.value = 0;
    beating = setInterval(beat, 150);
    $("stick").focus();
  });
  const order = (text) => ask("order", { order: text });
  for (const control of $("hands").querySelectorAll("[data-order]")) {
    const say = () => order(control.dataset.order.replace("%s", control.value));
    if (control.tagName === "INPUT") { control.addEventListener("change", say); continue; }
    control.addEventListener("click", async () => {
      await say();
      const where = { "stick low": 0, "stick mid": 50, "stick high": 100 }[control.dataset.order];
      if (where !== undefined) $("stick").value = where;
      if (["engine", "rest"].includes(control.dataset.order)) { $("stick").value = 0; $("load").value = 0; }
    });
  }
})();
