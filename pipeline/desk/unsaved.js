// Keeps what is not saved. Before a form goes off the program is asked whether it is there: if not, the page stays as it
// is, with its words. They are kept in this tab too until they are saved, so that Back and a new start have them.
"use strict";
(() => {
  const form = document.querySelector("[data-desk]");
  if (!form) return;
  const text = form.querySelector("#text"), gone = form.querySelector("#gone"), kept = document.querySelector("#kept-here");
  const key = "words of " + form.dataset.desk;
  const measures = [...form.querySelectorAll("[data-measure]")];
  const now = () => JSON.stringify({ text: text.value, measures: Object.fromEntries(measures.map(m => [m.dataset.measure, m.value])) });
  const opened = now();
  let passing = null; // the form that goes off, as the program is there

  function say(words) {
    gone.firstElementChild.textContent = words;
    gone.hidden = !words;
  }
  const silent = "The program does not answer. Your words are still here: start it again, or copy them.";
  async function there() {
    try {
      const answer = await fetch(form.getAttribute("action") + "/version", { signal: AbortSignal.timeout(4000) });
      say(answer.status === 401 ? "This page was withdrawn, so nothing was sent. Your words are still here: copy them, then open the page with a code in a new tab." : "");
      return answer.status !== 401;
    } catch {
      say(silent);
      return false;
    }
  }
  document.addEventListener("silent", () => say(silent)); // the page's own watch
  document.addEventListener("answered", () => say(""));
  gone.querySelector("button").addEventListener("click", () => {
    text.focus();
    text.select();
    document.execCommand("copy");
  });
  document.addEventListener("submit", e => {
    const of = e.target, by = e.submitter;
    if (passing === of || (by && by.formTarget === "_blank")) { // what opens another tab leaves this page alone
      passing = null;
      return;
    }
    e.preventDefault();
    e.stopImmediatePropagation();
    there().then(is => {
      if (!is) return;
      passing = of;
      of.requestSubmit(by);
    });
  }, true);

  const unsaved = form.hasAttribute("data-unsaved");
  const keep = () => {
    try {
      if (now() === opened && !unsaved) sessionStorage.removeItem(key);
      else sessionStorage.setItem(key, now());
    } catch { /* this browser keeps nothing */ }
  };
  let had = null;
  try { had = sessionStorage.getItem(key); } catch { /* as above */ }
  if (had && had !== opened && !unsaved) {
    const [back, leave] = kept.querySelectorAll("button");
    kept.hidden = false;
    back.addEventListener("click", () => {
      const was = JSON.parse(had);
      text.value = was.text;
      for (const m of measures) if (m.dataset.measure in was.measures) m.value = was.measures[m.dataset.measure];
      kept.hidden = true;
      for (const e of [text, ...measures]) e.dispatchEvent(new Event("input"));
    });
    leave.addEventListener("click", () => {
      kept.hidden = true;
      keep();
    });
  } else keep();
  for (const e of [text, ...measures]) e.addEventListener("input", () => { if (kept.hidden) keep(); });
})();
