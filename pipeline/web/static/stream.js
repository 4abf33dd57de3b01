// The pages of one browser share one stream of events: one of them holds it and tells the others. A hidden page lets it
// go, unless notifications are on: they are for who looks elsewhere. Where a browser has no locks (a page without TLS
// from another machine), each page that is looked at has a stream of its own. A page hears by the event "heard" of its
// document: what, data, and whether it holds the stream.
"use strict";
(() => {
  const page = document.querySelector("[data-seen]");
  if (!page) return;
  const names = ["changed", "progress", "tell"];
  const silence = 10000; // ms in which the page that holds the stream must answer
  const channel = "BroadcastChannel" in window ? new BroadcastChannel("events") : null;
  const shared = channel !== null && "locks" in navigator;
  let known = Number(page.dataset.seen); // the newest number that this browser heard of
  let stream = null, tries = null, leaderIsThere = false;

  const kept = Number(localStorage.getItem("heard") || known);
  let after = Math.min(kept, known); // what was told up to here was told by a page before
  function note(number) {
    known = Math.max(known, number);
    after = known;
    localStorage.setItem("heard", String(known));
  }
  function hear(what, data) {
    if (what === "tell") {
      if (data.no <= after) return;
      after = data.no;
    }
    document.dispatchEvent(new CustomEvent("heard", { detail: { what, data, holds: stream !== null } }));
    if (what === "changed") note(data);
  }

  function pass(what, data) {
    hear(what, data);
    if (shared) channel.postMessage({ what, data });
  }

  function open() {
    const s = new EventSource("/events?after=" + after);
    for (const what of names) s.addEventListener(what, e => pass(what, JSON.parse(e.data)));
    s.onerror = () => {
      if (s.readyState !== EventSource.CLOSED || stream !== s) return; // it asks again by itself
      pass("lost", null);
      setTimeout(() => { if (stream === s) stream = open(); }, silence);
    };
    return s;
  }
  function close() {
    if (stream) stream.close();
    stream = null;
  }

  // hold waits for its turn to hold the stream, or takes it from a page that does not answer.
  function hold(steal) {
    if (tries) tries.abort();
    const mine = tries = new AbortController();
    if (!shared) {
      stream = open();
      mine.signal.addEventListener("abort", close);
      return;
    }
    navigator.locks.request("events", steal ? { steal } : { signal: mine.signal }, () => new Promise(done => {
      if (mine.signal.aborted) { done(); return; }
      stream = open();
      mine.signal.addEventListener("abort", () => { close(); done(); });
    })).catch(() => {
      if (mine.signal.aborted) return;
      close(); // another page took it
      hold(false);
    });
    if (steal) return;
    leaderIsThere = false;
    channel.postMessage({ what: "who", data: null });
    setTimeout(() => { if (tries === mine && !mine.signal.aborted && !stream && !leaderIsThere) hold(true); }, silence);
  }
  if (shared) channel.onmessage = e => {
    const { what, data } = e.data;
    if (what === "who") {
      if (stream) channel.postMessage({ what: "here", data: known });
      return;
    }
    leaderIsThere = true;
    hear(what === "here" ? "changed" : what, data);
  };

  function look() {
    const wanted = !document.hidden || localStorage.getItem("notify") === "on";
    if (wanted && (!tries || tries.signal.aborted)) hold(false);
    else if (wanted && !stream && shared) channel.postMessage({ what: "who", data: null }); // what was missed
    if (!wanted && tries) tries.abort();
  }
  document.addEventListener("visibilitychange", look);
  window.addEventListener("pagehide", () => { if (tries) tries.abort(); });
  window.addEventListener("pageshow", look);
  look();
})();
