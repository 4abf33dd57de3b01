// Keeps a page as the workroom is now, by what it hears. Without scripts all of this is a page that one loads again.
"use strict";
(() => {
  const live = document.querySelector("[data-live]");
  const main = document.getElementById("main");
  let late = false, asking = false;

  // renewFoot has the foot as a fresh page has it: what can be stopped now.
  function renewFoot(page) {
    const foot = document.querySelector("footer"), newFoot = page.querySelector("footer");
    if (foot && newFoot) { if (!foot.contains(document.activeElement)) foot.replaceChildren(...newFoot.childNodes); }
    else if (foot) foot.remove();
    else if (newFoot) document.body.append(newFoot);
  }

  // renewBelow has what stands under the live part as a fresh page has it, where that has changed and nobody is at it.
  const below = document.querySelector("[data-below]");
  let belowWas = below && below.innerHTML;
  function renewBelow(page) {
    const fresh = page.querySelector("[data-below]");
    if (!below || !fresh || fresh.innerHTML === belowWas || below.contains(document.activeElement)) return;
    if ([...below.querySelectorAll("input[type=checkbox]")].some(box => box.checked !== box.defaultChecked)) return;
    belowWas = fresh.innerHTML;
    below.replaceChildren(...fresh.childNodes);
  }

  async function renew() {
    if (asking || document.hidden) { late = true; return; }
    const busy = live && live.contains(document.activeElement) && document.activeElement.matches("input, select, textarea");
    if (busy || live && live.querySelector("input:checked")) { late = true; return; }
    late = false;
    asking = true;
    let text = "";
    try {
      const answer = await fetch(live ? location.href : "/drop", // a light page that has the foot too
        { credentials: "same-origin" });
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
    if (!live) renewFoot(page);
    if (!live || !fresh) return;
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
    renewBelow(page);
    document.dispatchEvent(new Event("renewed"));
    if (path) for (const a of live.querySelectorAll("a[href]")) if (a.getAttribute("href") === path) { a.focus({ preventScroll: true }); break; }
    renewFoot(page);
  }
  if (live) live.addEventListener("focusout", () => { if (late) setTimeout(renew, 200); });

  // renewOver shows in a card's small picture how far its job is; what it showed stays until that has come.
  function renewOver(img) {
    const now = Date.now();
    if (img.dataset.asked && now - Number(img.dataset.asked) < 4000) return;
    img.dataset.asked = String(now);
    const fresh = new Image();
    fresh.onload = () => { img.src = fresh.src; };
    fresh.src = img.src.replace(/&now=.*$/, "") + "&now=" + now;
  }

  function hear(what, data) {
    if (what === "lost" || what === "changed" && String(data) !== main.dataset.seen) renew();
    if (what !== "progress" || !live) return;
    for (const e of live.querySelectorAll(`[data-job="${Number(data.job)}"]`)) {
      if (e.tagName === "IMG") renewOver(e);
      else if (e.tagName === "PROGRESS") e.value = data.percent; else if (e.tagName === "SPAN") e.textContent = data.text;
    }
  }
  document.addEventListener("heard", e => hear(e.detail.what, e.detail.data));
  document.addEventListener("visibilitychange", () => { if (!document.hidden && late) renew(); });
})();
