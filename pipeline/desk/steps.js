// The chalking list keeps its place on this phone, and goes on by the arrow keys as well as by a tap.
"use strict";
(() => {
  const list = document.querySelector("[data-steps]");
  if (!list) return;
  const key = "steps " + list.dataset.steps, at = () => Number((location.hash.match(/^#step-(\d+)$/) || [])[1] || 1);
  const keep = () => { try { localStorage.setItem(key, at()); } catch { /* then the address alone has it */ } };
  let was = 0;
  try { was = Number(localStorage.getItem(key)); } catch { /* nothing is kept here */ }
  if (!location.hash && was > 1 && document.getElementById("step-" + was)) location.replace("#step-" + was);
  addEventListener("hashchange", keep);
  addEventListener("keydown", e => {
    const to = e.key === "ArrowRight" ? at() + 1 : e.key === "ArrowLeft" ? at() - 1 : 0;
    if (to && document.getElementById("step-" + to)) location.hash = "#step-" + to;
  });
})();
