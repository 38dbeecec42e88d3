"use strict";
(() => {
  const $ = (id) => document.getElementById(id);
  const span = 30; // seconds drawn
  let state = null, points = [], over = false, drawn = false;

  const number = (v, digits) => v.toFixed(digits).replace("-", "−");
  const show = (id, text) => { if ($(id).textContent !== text) $(id).textContent = text; };
  const fill = (list, lines, make) => list.replaceChildren(...lines.map(make));
  const item = (text) => { const li = document.createElement("li"); li.textContent = text; return li; };
  const cell = (text, name) => { const td = document.createElement("td"); td.textContent = text; if (name) td.className = name; return td; };
  const row = (...cells) => { const tr = document.createElement("tr"); tr.append(...cells); return tr; };
  const share = (us) => {
    const [closed, open] = state ? state.throttle_range_us : [0, 0];
    return closed === open ? null : 100 * (us - closed) / (open - closed);
  };

  const send = (what, body) => fetch(what, { method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify(body) })
    .catch(() => lost("The program does not answer any more."));

  function lost(text) { $("lost").hidden = false; show("lost", text); }

  // What there is to know.
  function known() {
    const step = state.step ? `Step ${state.step} of ${state.steps}: ` : "";
    show("title", step + [state.title || "Bench", state.setting].filter(Boolean).join(": "));
    show("where", state.board ? (state.virtual ? "no hardware" : "on the bench") + (state.board === "virtual" ? "" : " · board on " + state.board) : "waiting for the board");
    show("line", state.machine);
    $("band").hidden = !state.provenance;
    $("band").className = state.virtual ? "band virtual" : "band";
    show("provenance", state.provenance);
    document.title = (state.virtual ? "VIRTUAL – " : "") + (state.title || "bench") + " – govrig";
    show("phase", state.phase || "–");
    const over = state.end && !state.walking;
    $("stop").disabled = state.stopping || !!over;
    show("stop", over ? "The run is over" : state.stopping ? "Stopping…" : "Stop the run");
    fill($("said"), state.said.length ? state.said.slice().reverse() : ["nothing yet"], item);
    if (!state.said.length) $("said").firstChild.className = "none";
    fill($("phases").tBodies[0], state.phases.slice().reverse(), (p) =>
      row(cell(p.name), cell(number(p.time_s, 1)), cell(number(p.low_rpm, 0)), cell(number(p.mean_rpm, 0)), cell(number(p.high_rpm, 0))));
    ask(state.question);
    if (state.end) end(state.end);
    $("result").hidden = !state.end;
  }

  // A question, with a button for each answer.
  let asked = 0;
  function ask(q) {
    $("ask").hidden = !q;
    if (!q || q.number === asked) return;
    asked = q.number;
    show("asks", q.title || "The rig asks");
    $("brief").hidden = !q.brief;
    if (q.brief) {
      show("purpose", q.brief.purpose);
      for (const list of ["connect", "moves", "hurts"]) fill($(list), q.brief[list], item);
    }
    show("question", q.text);
    const answer = (text) => { $("ask").hidden = true; send("answer", { number: q.number, answer: text }); };
    if (q.answers.length) {
      fill($("answers"), q.answers, (text) => {
        const b = document.createElement("button");
        b.type = "button"; b.textContent = text; b.addEventListener("click", () => answer(text));
        if (text === q.default) b.className = "default";
        return b;
      });
      return;
    }
    const input = document.createElement("input"), b = document.createElement("button");
    input.value = q.default; input.setAttribute("aria-label", q.text);
    b.type = "button"; b.textContent = "Answer";
    b.addEventListener("click", () => answer(input.value));
    input.addEventListener("keydown", (e) => { if (e.key === "Enter") answer(input.value); });
    $("answers").replaceChildren(input, b);
    input.focus();
  }

  // What came of it.
  function end(e) {
    show("outcome", ({ pass: "✓ ", fail: "✗ " }[e.class] || "") + e.word);
    $("outcome").className = "stamp " + e.class;
    $("error").hidden = !e.error; show("error", e.error);
    fill($("found"), e.found.concat(e.warnings), item);
    for (const li of [...$("found").children].slice(e.found.length)) li.className = "warn";
    $("advice").hidden = !e.next.length;
    fill($("next"), e.next, item);
    fill($("measures").tBodies[0], e.rows, (m) => {
      const name = cell(m.name), small = document.createElement("small");
      small.textContent = m.meaning; name.append(small);
      return row(name, cell(m.unit, "unit"), cell(m.value, m.class), cell(m.limit));
    });
    show("record", e.record ? "Record: " + e.record : "");
  }

  // The newest moment.
  function now(p) {
    show("head", number(p.head, 0));
    show("set", p.set ? number(p.set, 0) : "–");
    show("engine", number(p.engine, 0));
    const percent = p.throttle ? share(p.throttle) : null;
    show("throttle", percent !== null ? number(percent, 0) : p.throttle ? number(p.throttle, 0) : "–");
    show("throttle-unit", percent !== null || !p.throttle ? "%" : "µs");
    $("bar").style.width = Math.max(0, Math.min(100, percent || 0)) + "%";
    $("bar").parentNode.hidden = percent === null && p.throttle > 0;
    show("pulse", !p.throttle ? "no pulse yet" : percent !== null ? number(p.throttle, 0) + " µs" : "pulse");
    show("load", number(p.load, 1));
    show("time", number(p.t, 1));
    show("since", number(p.t - (state ? state.phase_from_s : 0), 1));
    show("low", number(p.phase_low, 0)); show("mean", number(p.phase_mean, 0)); show("high", number(p.phase_high, 0));
  }

  // The curves.
  const css = (name) => getComputedStyle(document.documentElement).getPropertyValue(name).trim();
  function step(size) {
    const power = 10 ** Math.floor(Math.log10(size));
    return [1, 2, 5, 10].map((m) => m * power).find((s) => s >= size * 0.999);
  }

  function draw() {
    drawn = false;
    const canvas = $("chart"), ratio = window.devicePixelRatio || 1;
    const w = canvas.clientWidth, h = canvas.clientHeight;
    if (canvas.width !== Math.round(w * ratio) || canvas.height !== Math.round(h * ratio)) {
      canvas.width = Math.round(w * ratio); canvas.height = Math.round(h * ratio);
    }
    const c = canvas.getContext("2d");
    c.setTransform(ratio, 0, 0, ratio, 0, 0);
    c.clearRect(0, 0, w, h);
    if (points.length < 2) return;
    c.font = '11px "Liberation Sans", Arial, Helvetica, sans-serif';
    const end = points[points.length - 1].t, from = Math.max(points[0].t, end - span), seen = points.filter((p) => p.t >= from);
    const left = 46, right = w - 8, first = Math.max(points[0].t, end - span), x = (t) => left + (right - left) * (t - first) / span;
    let low = Math.min(...seen.map((p) => p.low)), high = Math.max(...seen.map((p) => p.high)); // nothing is cut off
    const set = seen[seen.length - 1].set;
    if (set && Math.abs(set - high) < 0.4 * Math.max(high, 1)) { low = Math.min(low, set); high = Math.max(high, set); }
    const room = 0.08 * Math.max(high - low, 0.02 * high, 50);
    const least = low < 0 ? low - room : Math.max(low - room, -0.04 * (high + room)); // nothing turns backwards
    const speed = { top: 18, bottom: h * 0.64, low: least, high: high + room };
    const throttle = { top: h * 0.64 + 26, bottom: h - 20, low: -5, high: 105 };
    const known = share(1000) !== null;
    if (!known) {
      const pulses = seen.filter((p) => p.throttle).map((p) => p.throttle);
      throttle.low = (pulses.length ? Math.min(...pulses) : 1000) - 20; throttle.high = (pulses.length ? Math.max(...pulses) : 2000) + 20;
    }
    panel(c, speed, "head speed, rpm", left, right, x, first);
    panel(c, throttle, known ? "throttle, % of servo travel" : "throttle pulse, µs", left, right, x, first);
    c.fillStyle = css("--pale"); c.textAlign = "center";
    for (let t = Math.ceil(first / 5) * 5; t <= first + span; t += 5) c.fillText(t + " s", Math.min(x(t), right - 10), h - 5);
    const line = (panel, value, color, width, dash) => {
      const y = (v) => panel.bottom - (panel.bottom - panel.top) * (v - panel.low) / (panel.high - panel.low);
      c.save();
      c.beginPath(); c.rect(left, panel.top, right - left, panel.bottom - panel.top); c.clip();
      c.strokeStyle = css(color); c.lineWidth = width; c.setLineDash(dash); c.lineJoin = "round";
      c.beginPath();
      let pen = false;
      for (const p of seen) {
        const v = value(p);
        if (v === null) { pen = false; continue; }
        if (pen) c.lineTo(x(p.t), y(v)); else c.moveTo(x(p.t), y(v));
        pen = true;
      }
      c.stroke(); c.restore();
    };
    line(speed, (p) => p.set || null, "--ink", 1.2, [6, 4]);
    line(speed, (p) => p.low, "--first", 1.8, []);
    line(speed, (p) => p.high, "--first", 1.8, []);
    const most = Math.max(...seen.map((p) => p.load), 1);
    line(throttle, (p) => known ? 100 * p.load / (1.15 * most) : null, "--second", 1.4, [2, 3]);
    line(throttle, (p) => p.throttle ? (known ? share(p.throttle) : p.throttle) : null, "--first", 1.8, []);
  }

  function panel(c, p, label, left, right, x, first) {
    const y = (v) => p.bottom - (p.bottom - p.top) * (v - p.low) / (p.high - p.low);
    const each = step((p.high - p.low) / Math.max(2, (p.bottom - p.top) / 36));
    c.lineWidth = 1; c.setLineDash([]); c.textAlign = "right";
    for (let v = Math.ceil(p.low / each) * each; v <= p.high; v += each) {
      c.strokeStyle = css("--grid"); c.beginPath(); c.moveTo(left, y(v)); c.lineTo(right, y(v)); c.stroke();
      c.fillStyle = css("--ink"); c.fillText(number(v, each < 1 ? 1 : 0), left - 5, y(v) + 4);
    }
    c.strokeStyle = css("--grid");
    for (let t = Math.ceil(first / 5) * 5; t <= first + span; t += 5) {
      c.beginPath(); c.moveTo(x(t), p.top); c.lineTo(x(t), p.bottom); c.stroke();
    }
    c.strokeStyle = css("--rule"); c.strokeRect(left, p.top, right - left, p.bottom - p.top);
    c.fillStyle = css("--ink"); c.textAlign = "left"; c.fillText(label, left, p.top - 5);
  }

  function soon() { if (!drawn) { drawn = true; requestAnimationFrame(draw); } }

  const source = new EventSource("events");
  source.addEventListener("state", (e) => {
    state = JSON.parse(e.data);
    over = !!state.end;
    $("lost").hidden = true;
    known(); soon();
    document.dispatchEvent(new CustomEvent("govrig", { detail: state }));
  });
  source.addEventListener("anew", () => { points = []; });
  source.addEventListener("points", (e) => {
    points = points.concat(JSON.parse(e.data)).slice(-1200);
    now(points[points.length - 1]); soon();
  });
  source.addEventListener("error", () => {
    source.close();
    $("stop").disabled = true;
    if (!over) lost("The program has ended, or the connection to it is lost: look at its window.");
    else show("stop", "The run is over");
  });
  $("stop").addEventListener("click", () => { $("stop").disabled = true; show("stop", "Stopping…"); send("stop", {}); });
  window.addEventListener("resize", soon);
  window.matchMedia("(prefers-color-scheme: dark)").addEventListener("change", soon);
})();
