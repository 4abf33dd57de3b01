// Two keys of every page: "/" puts the keyboard into the search field, "?" shows the keys. Not while somebody writes.
"use strict";
(() => {
  const keys = document.getElementById("keys"), find = document.getElementById("find");
  document.addEventListener("keydown", e => {
    if (e.ctrlKey || e.altKey || e.metaKey || e.defaultPrevented) return;
    if (e.target.closest("input:not([type=checkbox], [type=radio]), select, textarea, [contenteditable]")) return;
    if (e.key === "/" && find && !keys.open) {
      e.preventDefault();
      find.focus();
      find.select();
    } else if (e.key === "?" && !keys.open) {
      e.preventDefault();
      keys.showModal();
    }
  });
})();
