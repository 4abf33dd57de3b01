// Keeps what is not saved. Before a form goes off the program is asked whether it is there: if not, the page stays as it
// is, with its words. They are kept in this tab too until they are saved, so that Back and a new start have them.
"use strict";
(() => {
  const form = document.querySelector("[data-desk]");
  if (!form) return;
  const text = form.querySelector("#text"), gone = form.querySelector("#gone"), kept = document.querySelector("#kept-here");
  const key = "words of " + form.dataset.desk, offered = "offered " + form.dataset.desk;
  const measures = [...form.querySelectorAll("[data-measure]")];
  const unit = form.querySelector("[name=unit]"); // of the measures
  const now = () => JSON.stringify({ text: text.value, unit: unit.value, measures: Object.fromEntries(measures.map(m => [m.dataset.measure, m.value])) });
  const opened = now();
  let passing = null; // the form that goes off, as the program is there

  // While the program is gone, what is not saved is kept for a new tab of this browser too.
  function say(words) {
    gone.firstElementChild.textContent = words;
    gone.hidden = !words;
    if (words && kept.hidden) keep();
  }
  const silent = "The program does not answer. Your words are still here: start it again and come in at the address that it shows, then press the button here once more. Or copy them.";
  const withdrawn = "The program was started again, or this page was withdrawn, so nothing was sent. Your words are still here: come in at the address that the program shows now, in a new tab, then press the button here once more. Or copy them.";
  async function there() {
    try {
      const answer = await fetch(form.getAttribute("action") + "/version", { signal: AbortSignal.timeout(4000) });
      say(answer.status === 401 ? withdrawn : "");
      return answer.status !== 401;
    } catch {
      say(silent);
      return false;
    }
  }
  document.addEventListener("silent", () => say(silent)); // the page's own watch
  document.addEventListener("withdrawn", () => say(withdrawn));
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
      try { sessionStorage.setItem(offered, kept.hidden ? "" : "yes"); } catch { /* this browser keeps nothing */ }
      passing = of;
      of.requestSubmit(by);
    });
  }, true);

  // A page that answers the form has all that stood in it: nothing is lost, unless that page offered what it never took back.
  let answer = form.hasAttribute("data-answer");
  const unsaved = form.hasAttribute("data-unsaved") || answer && Boolean(document.querySelector(".unkept:not([hidden])"));
  const keep = () => {
    try {
      const lost = now() !== opened || unsaved;
      for (const place of [sessionStorage, localStorage]) {
        if (lost && (place === sessionStorage || !gone.hidden)) place.setItem(key, now());
        else if (!lost) place.removeItem(key);
      }
    } catch { /* this browser keeps nothing */ }
  };
  let had = null;
  try {
    had = sessionStorage.getItem(key) || localStorage.getItem(key);
    if (sessionStorage.getItem(offered)) answer = false;
    sessionStorage.removeItem(offered);
  } catch { /* as above */ }
  if (had && had !== opened && !answer) {
    const [back, leave] = kept.querySelectorAll("button");
    kept.hidden = false;
    back.addEventListener("click", () => {
      const was = JSON.parse(had);
      text.value = was.text;
      for (const m of measures) if (m.dataset.measure in was.measures) m.value = was.measures[m.dataset.measure];
      kept.hidden = true;
      for (const e of [text, ...measures]) e.dispatchEvent(new Event("input"));
      if (!was.unit || was.unit === unit.value) return;
      unit.value = was.unit; // the page is shown anew in the unit in which they were written
      keep();
      form.requestSubmit(form.querySelector("[value=draw]"));
    });
    leave.addEventListener("click", () => {
      kept.hidden = true;
      keep();
    });
  } else keep();
  for (const e of [text, ...measures]) e.addEventListener("input", () => { if (kept.hidden) keep(); });
})();
