// Keeps a page as the workroom is now. One page of a browser holds the stream and tells the others; a page
// that is hidden lets it go. Without scripts all of this is a page that one loads again.
"use strict";
(() => {
  const live = document.querySelector("[data-live]");
  if (!live) return;
  const channel = "BroadcastChannel" in window ? new BroadcastChannel("workroom") : null;
  let late = false;

  async function renew() {
    const busy = live.contains(document.activeElement) && document.activeElement.matches("input, select, textarea");
    if (busy || live.querySelector("input:checked")) { late = true; return; }
    late = false;
    const answer = await fetch(location.href, { credentials: "same-origin" });
    if (answer.status === 401) { location.reload(); return; }
    if (!answer.ok) return;
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    const fresh = page.querySelector("[data-live]");
    if (!fresh) return;
    const path = document.activeElement && document.activeElement.getAttribute("href");
    live.replaceChildren(...fresh.childNodes);
    if (path) for (const a of live.querySelectorAll("a[href]")) if (a.getAttribute("href") === path) { a.focus({ preventScroll: true }); break; }
    const foot = document.querySelector("footer"), newFoot = page.querySelector("footer");
    if (foot && newFoot) { if (!foot.contains(document.activeElement)) foot.replaceChildren(...newFoot.childNodes); }
    else if (foot) foot.remove();
    else if (newFoot) document.body.append(newFoot);
  }
  live.addEventListener("focusout", () => { if (late) setTimeout(renew, 200); });

  function hear(what, data) {
    if (what === "changed") { renew(); return; }
    for (const e of live.querySelectorAll(`[data-job="${Number(data.job)}"]`)) {
      if (e.tagName === "PROGRESS") e.value = data.percent; else e.textContent = data.text;
    }
  }
  if (channel) channel.onmessage = e => hear(e.data.what, e.data.data);

  function open() {
    const stream = new EventSource("/events");
    for (const what of ["changed", "progress"]) stream.addEventListener(what, e => {
      const data = JSON.parse(e.data);
      hear(what, data);
      if (channel) channel.postMessage({ what, data });
    });
    return stream;
  }

  let end = null;
  function start() {
    if (end) return;
    const gone = new AbortController();
    if (navigator.locks) {
      navigator.locks.request("stream", { signal: gone.signal }, () => new Promise(done => {
        const stream = open();
        gone.signal.addEventListener("abort", () => { stream.close(); done(); });
      })).catch(() => {});
    } else {
      const stream = open();
      gone.signal.addEventListener("abort", () => stream.close());
    }
    end = () => { gone.abort(); end = null; };
  }
  document.addEventListener("visibilitychange", () => {
    if (document.hidden) { if (end) end(); } else { start(); renew(); }
  });
  if (!document.hidden) start();
})();
