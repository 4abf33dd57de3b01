// Asks the server about the readings of a test square as they are typed. Nothing is recorded by it; without scripts
// the form is judged when it is sent.
"use strict";
(() => {
  const form = document.querySelector("form[data-judge]");
  if (!form) return;
  const touched = new Set();
  let wait = 0, asked = 0;
  async function judge() {
    const mine = ++asked;
    let said;
    try {
      const answer = await fetch(form.dataset.judge, { method: "POST", credentials: "same-origin", body: new URLSearchParams(new FormData(form)) });
      if (!answer.ok) return;
      said = await answer.json();
    } catch { return; } // sending the form says what is wrong
    if (mine !== asked) return;
    for (const [name, fault] of Object.entries(said.fields)) {
      const field = form.elements[name], place = document.getElementById("f-" + name);
      if (!field || !place || !touched.has(name)) continue;
      if (place.textContent !== fault) place.textContent = fault;
      if (fault) field.setAttribute("aria-invalid", "true"); else field.removeAttribute("aria-invalid");
    }
    const fault = form.querySelector("[data-fault]"), text = form.querySelector("[data-text]"), doubts = form.querySelector("[data-doubts]");
    fault.textContent = said.fault; fault.hidden = !said.fault;
    text.textContent = said.text; text.hidden = !said.text;
    doubts.replaceChildren(...(said.doubts || []).map(d => { const li = document.createElement("li"); li.textContent = "doubt: " + d; return li; }));
  }
  form.addEventListener("input", e => {
    if (e.target.name) touched.add(e.target.name);
    clearTimeout(wait);
    wait = setTimeout(judge, 400);
  });
})();
