// Keeps a page as the workroom is now, by what it hears. Without scripts all of this is a page that one loads again.
"use strict";
(() => {
  const live = document.querySelector("[data-live]");
  if (!live) return;
  const main = document.getElementById("main");
  let late = false, asking = false;

  async function renew() {
    if (asking || document.hidden) { late = true; return; }
    const busy = live.contains(document.activeElement) && document.activeElement.matches("input, select, textarea");
    if (busy || live.querySelector("input:checked")) { late = true; return; }
    late = false;
    asking = true;
    let text = "";
    try {
      const answer = await fetch(location.href, { credentials: "same-origin" });
      if (answer.status === 401) { location.reload(); return; }
      if (answer.ok) text = await answer.text();
    } catch { // the program is away; the stream tells when it is there again
    } finally {
      asking = false;
    }
    if (late) setTimeout(renew, 200);
    if (!text) return;
    const page = new DOMParser().parseFromString(text, "text/html");
    main.dataset.seen = page.getElementById("main").dataset.seen;
    const fresh = page.querySelector("[data-live]");
    if (!fresh) return;
    const path = document.activeElement && document.activeElement.getAttribute("href");
    const kept = [...live.querySelectorAll("[data-keep]")].map(old => { // a picture that somebody zooms and measures in
      const box = old.querySelector("[data-large]"), focus = old.contains(document.activeElement) ? document.activeElement : null;
      return { old, box, focus, left: box.scrollLeft, top: box.scrollTop };
    });
    live.replaceChildren(...fresh.childNodes);
    for (const { old, box, focus, left, top } of kept) {
      const twin = live.querySelector(`[data-keep="${CSS.escape(old.dataset.keep)}"]`);
      if (!twin) continue;
      Object.assign(old.dataset, twin.dataset);
      twin.replaceWith(old);
      box.scrollTo(left, top);
      if (focus) focus.focus({ preventScroll: true });
    }
    document.dispatchEvent(new Event("renewed"));
    if (path) for (const a of live.querySelectorAll("a[href]")) if (a.getAttribute("href") === path) { a.focus({ preventScroll: true }); break; }
    const foot = document.querySelector("footer"), newFoot = page.querySelector("footer");
    if (foot && newFoot) { if (!foot.contains(document.activeElement)) foot.replaceChildren(...newFoot.childNodes); }
    else if (foot) foot.remove();
    else if (newFoot) document.body.append(newFoot);
  }
  live.addEventListener("focusout", () => { if (late) setTimeout(renew, 200); });

  function hear(what, data) {
    if (what === "lost" || what === "changed" && String(data) !== main.dataset.seen) renew();
    if (what !== "progress") return;
    for (const e of live.querySelectorAll(`[data-job="${Number(data.job)}"]`)) {
      if (e.tagName === "PROGRESS") e.value = data.percent; else if (e.tagName === "SPAN") e.textContent = data.text;
    }
  }
  document.addEventListener("heard", e => hear(e.detail.what, e.detail.data));
  document.addEventListener("visibilitychange", () => { if (!document.hidden && late) renew(); });
})();
