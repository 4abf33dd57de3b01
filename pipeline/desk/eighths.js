// Puts an eighth of an inch at the caret of the measure that was written last. The row stands above the keyboard of a
// phone. It is shown by this script only: without it a fraction is typed.
"use strict";
(() => {
  const row = document.querySelector("#eighths"), fields = [...document.querySelectorAll("[data-measure]")];
  if (!row || !fields.length) return;
  let last = fields[0];
  for (const f of fields) f.addEventListener("focus", () => { last = f; });
  row.hidden = false;
  row.addEventListener("pointerdown", e => e.preventDefault()); // the field keeps the focus, and the keyboard stays
  row.addEventListener("click", e => {
    const b = e.target.closest("button");
    if (!b) return;
    const before = last.value.slice(0, last.selectionStart), after = last.value.slice(last.selectionEnd);
    const whole = before.replace(/(^|\s)\d+\/\d+\s*$/, "$1").trimEnd(); // a fraction there is replaced
    const head = (whole ? whole + " " : "") + b.textContent;
    last.value = head + (after.trim() ? " " + after.trimStart() : "");
    last.focus({ preventScroll: true });
    last.setSelectionRange(head.length, head.length);
    last.dispatchEvent(new Event("input"));
  });
  // A keyboard on the screen lies over the foot of the page.
  const seen = window.visualViewport;
  if (!seen) return;
  const place = () => row.style.setProperty("--keyboard", Math.max(0, innerHeight - seen.height - seen.offsetTop) + "px");
  for (const e of ["resize", "scroll"]) seen.addEventListener(e, place);
  place();
})();
