// The list of the tests beside the run: begins them, and is drawn anew when one
// ends.
"use strict";
(() => {
  const { $, ask, fragment } = govrig;
  document.addEventListener("click", async (e) => {
    const b = e.target.closest("button[data-walk]");
    if (!b) return;
    if (await ask("walk", { only: b.dataset.walk }) === undefined) return;
    $("watch").hidden = false;
  });
  let was = null; // the list came with the page
  document.addEventListener("govrig", (e) => {
    const s = e.detail, now = [s.walking, s.step, s.title, !!s.end].join();
    if (s.walking) $("watch").hidden = false;
    if (was !== null && now !== was) fragment("steps", $("list"));
    was = now;
  });
})();
