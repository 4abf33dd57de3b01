// What is drawn over a job's picture: how far it is made, live; where a finding is; and the pieces, chosen by a click or a
// tap in place of their boxes beside it. Without scripts the picture shows how far the job was when the page was loaded.
"use strict";
(() => {
  const figure = () => document.querySelector("figure[data-over]");
  const known = new WeakMap(); // of a figure, what lies over its picture

  // load puts over the picture what the server draws, as a part of the page.
  async function load() {
    const f = figure();
    if (!f || (known.get(f) || {}).from === f.dataset.over) return;
    const k = { from: f.dataset.over, strokes: [], sure: -1, sent: -1 };
    known.set(f, k);
    const answer = await fetch(k.from, { credentials: "same-origin" });
    if (!answer.ok || known.get(f) !== k) return;
    const drawn = new DOMParser().parseFromString(await answer.text(), "image/svg+xml").documentElement;
    for (const e of drawn.querySelectorAll("style")) e.remove(); // the page's own sheet has it
    k.svg = document.importNode(drawn, true);
    k.strokes = [...k.svg.querySelectorAll("path[data-from]")].map(e => ({ e, from: Number(e.dataset.from), to: Number(e.dataset.to) }));
    const box = f.querySelector("[data-large]"), picture = box.querySelector("img:not(.over)");
    for (const e of box.querySelectorAll(":scope > .over")) e.remove();
    box.append(k.svg);
    sync();
    const place = k.svg.querySelector(".place");
    if (place) {
      if (!picture.complete) await picture.decode().catch(() => {});
      go(box, Number(place.getAttribute("cx")), Number(place.getAttribute("cy")));
    }
  }

  const go = (box, x, y) => box.dispatchEvent(new CustomEvent("place", { detail: { x, y, zoom: 3 } }));

  // A later moment never takes back what is made.
  document.addEventListener("heard", e => {
    if (e.detail.what !== "progress") return;
    const f = figure(), k = f && known.get(f), d = e.detail.data;
    for (const list of document.querySelectorAll(`[data-far="${Number(d.job)}"]`)) if (d.far) {
      list.replaceChildren(...d.far.map(([how, which]) => {
        const li = document.createElement("li"), b = document.createElement("b");
        b.textContent = how;
        li.append(b, ": " + which);
        return li;
      }));
    }
    if (!k || !k.strokes.length || f.dataset.job !== String(d.job)) return;
    k.sure = Math.max(k.sure, d.sure);
    k.sent = Math.max(k.sent, d.sent);
    let last = null, whole = true; // the tool is at the stroke that was sent last, or before it
    for (const s of k.strokes) {
      const far = s.to <= k.sure ? "drawn" : s.from <= k.sent ? "sent" : "come", was = s.e.getAttribute("class");
      if (was !== far && was !== "drawn" && far !== "come") s.e.setAttribute("class", far);
      if (s.from <= k.sent) last = s;
      whole = whole && s.e.getAttribute("class") === "drawn";
    }
    let tool = k.svg.querySelector(".tool");
    const at = last && !whole && /^M(\S+) ([^LZM]+)/.exec(last.e.getAttribute("d"));
    if (!at) { if (tool) tool.remove(); return; }
    if (!tool) {
      tool = document.createElementNS(k.svg.namespaceURI, "g");
      tool.setAttribute("class", "tool");
      tool.append(...[10, 2.5].map(r => {
        const c = document.createElementNS(k.svg.namespaceURI, "circle");
        c.setAttribute("r", r);
        c.setAttribute("fill", "none");
        return c;
      }));
      k.svg.append(tool);
    }
    tool.setAttribute("transform", `translate(${at[1]} ${at[2]})`);
  });

  // The boxes are what counts; the picture shows them, and a click in it presses them.
  const boxOf = number => document.querySelector(`[data-choose] input[value="${Number(number)}"]`);
  function sync() {
    const f = figure(), k = f && known.get(f);
    if (!k || !k.svg) return;
    for (const p of k.svg.querySelectorAll(".piece")) {
      const input = boxOf(p.dataset.number);
      p.classList.toggle("may", Boolean(input));
      p.classList.toggle("chosen", Boolean(input && input.checked));
    }
  }
  document.addEventListener("change", sync);
  document.addEventListener("click", e => {
    const piece = e.target.closest && e.target.closest(".over .piece");
    if (piece) {
      // In the picture of a draft the copies of a piece lie on one another, and are chosen together.
      const inputs = [...piece.parentNode.querySelectorAll(".piece")].filter(p => p.getAttribute("d") === piece.getAttribute("d")).map(p => boxOf(p.dataset.number)).filter(Boolean);
      const to = inputs.length > 0 && !inputs[0].checked;
      for (const input of inputs) if (input.type === "checkbox") input.checked = to;
      if (inputs.length && inputs[0].type === "radio") inputs[0].checked = true;
      if (inputs.length) inputs[0].dispatchEvent(new Event("change", { bubbles: true }));
      return;
    }
    const link = e.target.closest && e.target.closest("a[data-finding]"), f = figure(), k = f && known.get(f);
    if (!link || !k || !k.svg || !("draft" in f.dataset)) return; // else the link leads to the page with the draft's picture
    e.preventDefault();
    const [x, y] = link.dataset.place.split(" ").map(Number);
    let place = k.svg.querySelector(".place");
    if (!place) {
      place = document.createElementNS(k.svg.namespaceURI, "circle");
      place.setAttribute("class", "place");
      place.setAttribute("fill", "none");
      k.svg.append(place);
    }
    place.setAttribute("cx", x);
    place.setAttribute("cy", y);
    const box = f.querySelector("[data-large]"), said = f.querySelector(".large-said");
    f.scrollIntoView({ block: "nearest" });
    go(box, x, y);
    if (said) said.textContent = "Finding " + link.dataset.finding + " is ringed in the picture.";
  });

  document.addEventListener("renewed", () => { load(); sync(); });
  load();
})();
