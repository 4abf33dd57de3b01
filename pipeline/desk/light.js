// Points of the picture and sentences of the text light each other up: what one points at in the picture, and the
// sentence in which the caret or the pointer stands. A click in the picture goes to the sentence. Under the text stand
// the words of the caret's sentence, each a link to its example.
"use strict";
(() => {
  const form = document.querySelector("[data-desk]");
  if (!form) return;
  const text = form.querySelector("#text"), picture = form.querySelector("#picture"), told = form.querySelector("#lit");

  // light marks a line of the text and all that it says in the picture; 0 puts the light out.
  function light(line, name) {
    if (form.dataset.lit === String(line)) return;
    form.dataset.lit = line;
    for (const e of picture.querySelectorAll(".handle")) e.classList.toggle("lit", line > 0 && e.dataset.line === String(line));
    const words = (text.value.split("\n")[line - 1] || "").trim();
    told.hidden = !line || !words;
    told.textContent = line ? "line " + line + ": " + words : "";
    document.dispatchEvent(new CustomEvent("lit"));
  }

  const under = e => e.target.closest && e.target.closest(".handle");
  picture.addEventListener("pointerover", e => {
    const h = under(e);
    if (h && h.dataset.line !== "0") light(Number(h.dataset.line));
  });
  picture.addEventListener("click", e => {
    const h = under(e);
    if (!h || h.dataset.line === "0") return;
    light(Number(h.dataset.line));
    document.dispatchEvent(new CustomEvent("goto", { detail: Number(h.dataset.line) }));
  });

  const shown = form.querySelector("#shown");
  let asked = "";
  async function show(words) {
    if (words === asked) return;
    asked = words;
    let found = [];
    try {
      const answer = await fetch("/desk/words?line=" + encodeURIComponent(words));
      if (answer.ok) found = await answer.json();
    } catch { found = []; } // the page says elsewhere that the program does not answer
    if (words !== asked) return; // a newer sentence was asked for
    shown.hidden = !found.length;
    shown.replaceChildren(...(found.length ? ["Examples: "] : []), ...found.flatMap(w => {
      const a = document.createElement("a");
      a.href = form.getAttribute("action") + "/examples#" + w.id;
      a.target = "_blank";
      a.textContent = w.words;
      return [a, " "];
    }));
  }

  function caret() {
    if (document.activeElement !== text) return;
    const line = text.value.slice(0, text.selectionStart).split("\n").length;
    light(line);
    show((text.value.split("\n")[line - 1] || "").trim().slice(0, 500));
  }
  document.addEventListener("selectionchange", caret);
  text.addEventListener("keyup", caret);
  text.addEventListener("click", caret);
  text.addEventListener("pointermove", e => {
    if (e.buttons || e.pointerType !== "mouse") return;
    const style = getComputedStyle(text);
    const line = Math.floor((e.offsetY + text.scrollTop - parseFloat(style.paddingTop)) / parseFloat(style.lineHeight)) + 1;
    if (line >= 1 && line <= text.value.split("\n").length) light(line);
  });
  document.addEventListener("drawn", () => {
    const line = form.dataset.lit;
    delete form.dataset.lit;
    if (line) light(Number(line));
  });
})();
