// Draws the pieces anew while words and measures are written. One request goes at a time; what is typed
// meanwhile stops it and goes with the next. Without scripts the button Draw does the same.
"use strict";
(() => {
  const form = document.querySelector("[data-desk]");
  if (!form) return;
  const text = form.querySelector("#text"), marks = form.querySelector("#marks"), picture = form.querySelector("#picture");
  const faults = form.querySelector("#faults"), count = form.querySelector("#count"), body = form.querySelector("#body");
  const measures = [...form.querySelectorAll("[data-measure]")];
  const kind = form.querySelector("#kind"), unkept = document.querySelectorAll(".unkept"), madeFor = form.querySelector("#made-for");
  const asSaved = form.hasAttribute("data-unsaved") ? null : text.value; // the words of the file
  // Measures that are not kept count for a drawing; those of a body or a card are in the file.
  let asKept = unkept.length && !unkept[0].hidden ? null : values();
  const slipped = document.querySelector("#slipped"), shownWith = values(); // a card that was refused for a slip
  const others = form.querySelector("#with"), upon = form.querySelector("#upon"), beside = form.querySelector("#beside");
  const keptList = form.querySelector("#kept"), changed = form.querySelector("#changed");
  let busy = false, wanted = false, leaving = false, found = [];
  let asked = null, since = 0; // the request under way
  let blocks = []; // the drafts that this one takes from, each with its version

  function values() { return JSON.stringify([kind.value, ...measures.map(m => m.value)]); }
  function touched() { return values() !== asKept; }

  // What stands in the form. The pieces are compared with those of another body, else with what they were when the
  // page was opened.
  function now() {
    const w = { name: form.dataset.desk, text: text.value, body: body ? body.value : "" };
    if (touched()) {
      w.kind = kind.value;
      w.unit = form.querySelector("[name=unit]").value;
      w.measures = {};
      for (const m of measures) w.measures[m.dataset.measure] = m.value;
    }
    return w;
  }
  changed.open = innerWidth >= 900; // on a phone the measures stay in sight
  // A button of the form shows the page anew, and what it was opened with goes along. What is not kept counts alone.
  const opened = JSON.parse(form.querySelector("[name=opened]").value);
  const plainly = w => JSON.stringify([w.text, w.body, w.was || "", w.measures ? [w.kind, w.unit, Object.entries(w.measures).sort()] : null]);

  // The pieces are laid out as large as the place of the picture allows, whether or not a bar to scroll stands in it.
  function frame() { return [picture.offsetWidth - 2, parseFloat(getComputedStyle(picture).maxHeight) - 4].map(Math.round); }
  let framed = frame().join(), resized = 0;
  addEventListener("resize", () => {
    clearTimeout(resized);
    resized = setTimeout(() => { if (frame().join() !== framed) { framed = frame().join(); draw(); } }, 200);
  });

  function wish() {
    const w = now();
    w.upon = upon.value.trim();
    w.beside = beside.checked;
    w.frame = frame();
    if (others.value === " opened") {
      if (plainly(opened) !== plainly(now())) w.before = opened;
    } else if (others.value) w.before = { body: others.value };
    return w;
  }

  async function draw() {
    if (busy) {
      wanted = true;
      if (performance.now() - since > 100) asked.abort(); // what is nearly drawn is shown: else none were while one writes fast
      return;
    }
    busy = true;
    let again = false; // what took longer than a second is asked for once more: the computer may have been busy
    do {
      if (wanted) again = false;
      wanted = false;
      asked = new AbortController();
      since = performance.now();
      try {
        const answer = await fetch("/desk/draw", { method: "POST", body: JSON.stringify(wish()), headers: { "Content-Type": "application/json" }, signal: asked.signal });
        if (answer.status === 401) { count.textContent = "This page was withdrawn: open it in a new tab with a code, then copy your words over."; break; }
        if (!answer.ok) { count.textContent = await answer.text(); break; }
        const drawn = await answer.json();
        if (!drawn.slow) {
          again = false;
          show(drawn);
        } else if (!wanted) {
          again = !again;
          if (again) count.textContent = "This takes longer than a second. It is tried once more.";
          else givenUp();
        }
      } catch (e) {
        again = false;
        if (e.name !== "AbortError") count.textContent = "The program does not answer; your words are still here.";
      }
    } while (wanted || again);
    busy = false;
  }

  // What was drawn last stays.
  function givenUp() {
    const pieces = picture.firstElementChild !== null;
    count.textContent = "Given up: the drawing takes longer than a second here. " + (pieces ? "The pieces as they were drawn last stand below. " : "") + "Write on, or press Draw, which takes up to 20 seconds.";
    picture.classList.toggle("stale", pieces);
  }

  function show(d) {
    if (d.svg) {
      picture.replaceChildren(new DOMParser().parseFromString(d.svg, "image/svg+xml").documentElement);
      count.textContent = d.pieces;
    } else count.textContent = "Not drawn: see the errors." + (picture.firstElementChild ? " The pieces as they were stand below." : "");
    picture.classList.toggle("stale", !d.svg);
    blocks = Object.entries(d.blocks || {});
    keptList.replaceChildren(...(d.checks.length ? d.checks.map(checked) : [item("li", "The draft names none.")]));
    const moved = d.changed || [];
    changed.hidden = !moved.length;
    changed.querySelector("ul").replaceChildren(...moved.map(m => item("li", m)));
    found = d.faults;
    measures.forEach((m, i) => slip(m, i, found));
    sound = Boolean(d.svg) && !found.some(f => f.measure && f.severity === "error");
    if (slipped && sound && values() !== shownWith) slipped.hidden = true; // it is mended
    sayMade();
    offerBodies(d.bodies);
    faults.replaceChildren(...(d.faults.length ? d.faults.map(line) : [item("li", d.clear)]));
    mark();
    document.dispatchEvent(new CustomEvent("drawn"));
  }

  // What is wrong with a measure stands at its field, with what mends it.
  function slip(m, i, found) {
    const at = found.filter(f => f.measure === m.dataset.measure), f = at.find(f => f.severity === "error") || at[0], e = form.querySelector("#s" + i);
    e.hidden = !f;
    e.className = "slip " + (f ? f.severity : "");
    if (f && f.severity === "error") m.setAttribute("aria-invalid", "true"); else m.removeAttribute("aria-invalid");
    const said = f ? f.text.replace("the measure " + f.measure + ": ", "") + (f.mend ? "; " + f.mend : "") : "";
    if (f && e.dataset.said === said) return; // a button that has the focus stays
    e.dataset.said = said;
    e.replaceChildren(...(f ? [item("b", f.severity), ": " + said] : []), ...(f && f.offer ? [" ", button("Write \u201c" + f.offer.word + "\u201d", () => {
      m.focus();
      m.value = f.offer.word;
      m.dispatchEvent(new Event("input"));
    })] : []));
  }
  let sound = madeFor.hidden || !madeFor.textContent.startsWith("Nothing");
  function sayMade() {
    madeFor.hidden = sound && !touched();
    madeFor.textContent = sound ? "Made for the measures as they are typed. They are not kept yet." : "Nothing can be made yet: mend first what is marked in the measures or told under Checks.";
  }
  // The bodies to compare with are those that the words have now.
  function offerBodies(names) {
    const had = [...others.options].filter(o => o.hasAttribute("data-body"));
    if (!names || had.map(o => o.value).join("\n") === names.join("\n")) return;
    const chosen = others.value;
    for (const o of had) o.remove();
    for (const n of [...names].reverse()) {
      const o = item("option", "body " + n);
      o.value = n;
      o.setAttribute("data-body", "");
      others.options[1].after(o);
    }
    others.value = chosen;
    if (others.value !== chosen) { others.value = ""; draw(); } // that body is gone
  }

  function item(kind, words) { const e = document.createElement(kind); e.textContent = words; return e; }
  function button(words, act) {
    const b = item("button", words);
    b.type = "button";
    b.addEventListener("click", act);
    return b;
  }
  function checked(c) {
    const li = document.createElement("li");
    li.className = c.state;
    li.append(item("b", c.state), " ");
    if (c.line) li.append(button("line " + c.line, () => go(c.line, 1)));
    li.append(" " + c.text);
    return li;
  }
  function line(f) {
    const li = document.createElement("li");
    li.className = f.severity;
    li.append(item("b", f.severity), " ");
    if (f.line) li.append(button("line " + f.line, () => go(f.line, f.column)));
    li.append(": " + f.text + " ", item("i", f.mend));
    if (f.offer && !f.measure) li.append(" ", button("Write \u201c" + f.offer.word + "\u201d for \u201c" + f.offer.was + "\u201d" + (f.offer.line === f.line ? "" : " in line " + f.offer.line), () => take(f)));
    return li;
  }

  // take writes the word that a fault offers in the place of the wrong one, so that the browser's Undo takes it back.
  function take(f) {
    const here = f.offer.line, lines = text.value.split("\n"), words = lines[here - 1] || "";
    const whole = new RegExp("(?<![\\p{L}\\p{N}'])" + f.offer.was.replace(/[^\p{L}\p{N} ]/gu, "\\$&") + "(?![\\p{L}\\p{N}'])", "u");
    let at = here === f.line ? words.indexOf(f.offer.was, Math.max(0, f.column - 1)) : words.search(whole);
    if (at < 0) at = words.indexOf(f.offer.was);
    if (at < 0) return;
    for (let i = 0; i < here - 1; i++) at += lines[i].length + 1;
    text.focus();
    text.setSelectionRange(at, at + f.offer.was.length);
    if (!document.execCommand("insertText", false, f.offer.word)) {
      text.setRangeText(f.offer.word, at, at + f.offer.was.length, "end");
      text.dispatchEvent(new Event("input"));
    }
  }

  function go(line, column) {
    const lines = text.value.split("\n");
    let at = 0;
    for (let i = 0; i < line - 1 && i < lines.length; i++) at += lines[i].length + 1;
    text.focus();
    text.setSelectionRange(at + Math.max(0, column - 1), at + (lines[line - 1] || "").length);
    const high = parseFloat(getComputedStyle(text).lineHeight), bar = form.querySelector(".save");
    text.scrollTop = (line - 5) * high;
    const below = text.getBoundingClientRect().top + line * high - text.scrollTop + high - bar.getBoundingClientRect().top;
    if (below > 0 && getComputedStyle(bar).position === "sticky") scrollBy(0, below); // from under the bar
  }

  // The marks lie behind the words, line by line. Only lines that changed are written anew: a keystroke changes one.
  function mark() {
    const worst = new Map();
    for (const f of found) if (f.line && worst.get(f.line) !== "error") worst.set(f.line, f.severity);
    const lines = text.value.split("\n");
    while (marks.childNodes.length > lines.length) marks.lastChild.remove();
    lines.forEach((words, i) => {
      const s = marks.childNodes[i] || marks.appendChild(item("span", ""));
      if (s.textContent !== words + "\n") s.textContent = words + "\n";
      const is = (worst.get(i + 1) || "") + (form.dataset.lit === String(i + 1) ? " lit" : "");
      if (s.className !== is) s.className = is;
    });
    marks.scrollTop = text.scrollTop;
    marks.scrollLeft = text.scrollLeft;
  }
  text.addEventListener("scroll", () => { marks.scrollTop = text.scrollTop; marks.scrollLeft = text.scrollLeft; });
  document.addEventListener("lit", mark);
  document.addEventListener("goto", e => go(e.detail, 1));
  text.addEventListener("input", () => { mark(); draw(); });
  for (const e of [others, upon, beside]) e.addEventListener("input", draw);
  for (const m of [...measures, kind]) m.addEventListener("input", () => {
    for (const e of unkept) e.hidden = !touched();
    sayMade();
    draw();
  });
  // Enter in a measure goes on to the next one: what is typed is drawn already, and the button Draw would show the page anew.
  measures.forEach((m, i) => m.addEventListener("keydown", e => {
    if (e.key !== "Enter" || e.isComposing) return;
    e.preventDefault();
    (measures[i + 1] || kind).focus();
  }));
  for (const m of measures) m.addEventListener("keypress", e => { if (e.key === "Enter") e.preventDefault(); }); // a stroke that comes in two
  // The word that a refused fitting offers is written into its field; without scripts the program does it.
  const offered = document.querySelector("#fitting button[data-word]");
  if (offered) offered.addEventListener("click", e => {
    e.preventDefault();
    const field = document.querySelector("#" + offered.dataset.field);
    field.value = offered.dataset.word;
    field.removeAttribute("aria-invalid");
    field.focus();
    offered.parentElement.remove();
  });
  // Of the places along seams those of the chosen seam are offered.
  const seam = document.querySelector("#seam-name");
  if (seam) {
    const offer = () => {
      for (const e of document.querySelectorAll("[data-places]")) {
        for (const g of e.querySelectorAll("optgroup")) g.hidden = g.disabled = g.label !== seam.value;
        if (e.selectedOptions[0] && e.selectedOptions[0].parentElement.disabled) e.value = "";
      }
    };
    seam.addEventListener("change", offer);
    offer();
  }
  // A child is judged by its height: the page is shown anew with a box for it.
  kind.addEventListener("change", () => { if (kind.value === "child" && !measures.some(m => m.dataset.measure === "height")) form.querySelector(".save [value=draw]").click(); });
  const inUnit = form.querySelector("#in-unit");
  inUnit.addEventListener("change", () => form.querySelector("[value=unit]").click());
  if (body) {
    const before = body.value;
    body.addEventListener("change", () => {
      if (!touched() || confirm("The measures that you typed are not kept. Take those of " + body.value + " instead?")) form.querySelector("[name=take]").click();
      else body.value = before;
    });
  }

  // An own editor may save the file as well. A page in which nothing is written shows it; another one says so.
  // Where the measure card is gone, the measures in the form may be all that there is of it.
  const version = form.querySelector("[name=version]").value, news = document.querySelector("#news");
  const card = form.dataset.card || "", cardSeen = form.querySelector("[name=card-seen]").value;
  // tellLines says which lines of the file are not those that this page began from.
  async function tellLines() {
    try {
      const answer = await fetch(form.getAttribute("action") + "/differs", { method: "POST", body: new URLSearchParams({ text: asSaved }) });
      if (!answer.ok) return;
      const lines = document.querySelector("#news-lines");
      lines.replaceChildren(...(await answer.json()).map(l => item("li", l)));
      lines.hidden = !lines.children.length;
    } catch { return; } // the news itself stands
  }
  // A draft that this one takes from may be saved by another program as well: the pieces are drawn anew. Where nothing is
  // written in the page, it is opened anew, since measures in it may be that draft's.
  const blockNews = form.querySelector("#block-news"), toldKey = "block news of " + form.dataset.desk;
  function tellBlocks(names) {
    const words = names.join(", ") + ", from which this draft takes, was changed by another program. The pieces are drawn anew.";
    if (text.value === asSaved && !touched()) {
      try { sessionStorage.setItem(toldKey, words); } catch { /* then it is not told */ }
      leaving = true;
      location.assign(form.getAttribute("action") + "?body=" + encodeURIComponent(body ? body.value : ""));
      return;
    }
    blockNews.textContent = words;
    blockNews.hidden = false;
    draw();
  }
  try {
    blockNews.textContent = sessionStorage.getItem(toldKey) || "";
    blockNews.hidden = !blockNews.textContent;
    sessionStorage.removeItem(toldKey);
  } catch { /* this browser keeps nothing */ }
  setInterval(async () => {
    if (document.hidden) return;
    const watched = blocks;
    let now = "", cardNow = "", blocksNow = [];
    try {
      const answer = await fetch(form.getAttribute("action") + "/version?" + new URLSearchParams([["card", card], ...watched.map(([name]) => ["block", name])]));
      document.dispatchEvent(new Event(answer.status === 401 ? "withdrawn" : "answered"));
      if (!answer.ok) return;
      [now, cardNow = "", ...blocksNow] = (await answer.text()).split("\n");
    } catch {
      document.dispatchEvent(new Event("silent"));
      return;
    }
    const others = watched.filter(([, had], i) => i < blocksNow.length && blocksNow[i] !== had).map(([name]) => name);
    if (others.length && blocks === watched) {
      blocks = watched.map(([name, had], i) => [name, i < blocksNow.length ? blocksNow[i] : had]); // told once
      tellBlocks(others);
    }
    if (!news.hidden || now === version && cardNow === cardSeen) return;
    if (now === version && cardNow === "") {
      news.textContent = "The measure card " + card + " was deleted or renamed. Its measures still stand here: keep the card to have it again.";
      news.hidden = false;
      asKept = null;
      for (const e of unkept) e.hidden = false;
      draw();
      return;
    }
    if (cardNow !== cardSeen) news.textContent = "The measure card " + card + " was changed by another page or program. Keep the card to see both; nothing is overwritten.";
    if (text.value === asSaved && !touched()) form.requestSubmit(form.querySelector("[value=renew]")); // what stands here is kept as an older version
    else {
      news.hidden = false;
      if (now !== version && asSaved !== null) tellLines();
    }
  }, 3000);

  // Leaving with words that are not saved or measures that are not kept asks first. What is made is a file to keep,
  // so the page stays.
  const seeking = form.querySelector("#seeking");
  form.addEventListener("submit", e => {
    const made = e.submitter && e.submitter.value.startsWith("make ");
    leaving = true;
    if (!made) return;
    setTimeout(() => { leaving = false; }, 1000); // a download leaves the page as it is, and asks nothing
    seeking.textContent = "Asked for at " + new Date().toLocaleTimeString([], { hour: "2-digit", minute: "2-digit", second: "2-digit", hour12: false }) + ". The lay for these words and measures is sought first if it was not yet; what is made opens, or is downloaded, then.";
    seeking.hidden = false;
  });
  addEventListener("pageshow", () => { leaving = false; });
  addEventListener("beforeunload", e => { if (!leaving && (text.value !== asSaved || touched())) e.preventDefault(); });
  draw();
})();
