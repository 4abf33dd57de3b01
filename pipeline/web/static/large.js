// Shows a picture large: zoomed by buttons, keys, wheel and pinch, moved by dragging, scrolling and arrow keys, with a
// scale bar that follows the zoom, and measured in: two chosen points give their distance. A choice near a lettered point or
// an edge's end, .handle.point and .handle.edge of the picture, is that place, and between two of them the distance is told
// to the tape's own step. A picture is an image or an SVG element in an element with data-large; data-unit there is the unit
// in which lengths are told (mm, cm or in), data-scale of the picture how many of its own units are a millimetre, and
// data-scale-to the y below which that does not hold. Without scripts it is a picture that scrolls.
"use strict";
(() => {
  const most = 64, attached = new WeakSet();

  // say writes a length as the program writes it elsewhere: sixteenths of an inch, else a decimal to a tenth of a mm. A
  // step is how finely it can be known, mm; tape asks for the steps of a tape, eighths of an inch and whole mm.
  function say(mm, unit, step, tape) {
    if (unit === "in") {
      let under = tape ? 8 : 16;
      const parts = Math.round(mm / 25.4 * under), whole = Math.floor(parts / under);
      let over = parts % under;
      while (over > 0 && over % 2 === 0) { over /= 2; under /= 2; }
      return (over ? (whole ? whole + " " : "") + over + "/" + under : String(whole)) + " in";
    }
    const to = tape || step > 0.5 ? 1 : 10;
    mm = Math.round(mm * to) / to;
    return unit === "cm" ? Math.round(mm * 10) / 100 + " cm" : mm + " mm";
  }

  // round is the largest round length that is not above a limit, mm, and its words.
  function round(limit, unit) {
    const one = unit === "in" ? 25.4 : unit === "cm" ? 10 : 1, n = limit / one;
    if (unit === "in" && n < 1) {
      let under = 1;
      while (under < 16 && 1 / under > n) under *= 2;
      return [one / under, "1/" + under + " in"];
    }
    const ten = Math.pow(10, Math.floor(Math.log10(n))), m = [5, 2, 1].find(k => k * ten <= n * (1 + 1e-9));
    return [m * ten * one, Number((m * ten).toPrecision(3)) + " " + unit];
  }

  function attach(box) {
    if (attached.has(box)) return;
    attached.add(box);
    const unit = () => box.dataset.unit || "mm";
    const picture = () => box.querySelector(":scope > img:not(.over), :scope > svg:not(.marks):not(.over)");
    // all of a picture with data-whole is seen until somebody zooms.
    let zoom = 1, all = true, points = [], names = [], chosenOn = "", cross = null, measuring = false, dragged = false;

    const make = (kind, words, more) => Object.assign(document.createElement(kind), { textContent: words }, more);
    const tools = make("div", "", { className: "large-tools" });
    tools.setAttribute("role", "group");
    tools.setAttribute("aria-label", box.dataset.large + ": zoom and measure");
    const press = (words, act) => {
      const b = make("button", words, { type: "button" });
      b.addEventListener("click", act);
      tools.append(b);
      return b;
    };
    const larger = press("Larger +", () => zoomTo(zoom * 1.5)), smaller = press("Smaller \u2212", () => zoomTo(zoom / 1.5));
    const whole = press("Whole 0", () => zoomTo(0)), measure = press("Measure", () => setMeasuring(!measuring));
    measure.setAttribute("aria-pressed", "false");
    const scale = make("p", "", { className: "scale-bar" }), bar = make("span", ""), length = make("span", "");
    scale.append(bar, length);
    const said = make("p", "", { className: "large-said" });
    said.setAttribute("role", "status");
    box.before(tools, said);
    box.after(scale);
    if (!box.hasAttribute("tabindex")) box.tabIndex = 0;
    const marks = document.createElementNS("http://www.w3.org/2000/svg", "svg");
    marks.classList.add("marks");
    marks.setAttribute("aria-hidden", "true");

    // size is what is known of the picture as it is shown; null while there is none.
    function size() {
      const p = picture();
      if (!p) return null;
      const r = p.getBoundingClientRect(), v = p.viewBox && p.viewBox.baseVal;
      const wide = v ? v.width : p.naturalWidth, high = v ? v.height : p.naturalHeight;
      if (!wide || !r.width) return null;
      // A place of another shape than the picture's has it in the middle, by the smaller of both scales.
      const px = Math.min(r.width / wide, r.height / high), left = r.left + (r.width - wide * px) / 2, top = r.top + (r.height - high * px) / 2;
      return { r: { left, top, width: wide * px, height: high * px }, wide, high, px, scale: Number(p.dataset.scale) || 0, to: Number(p.dataset.scaleTo) || Infinity };
    }

    // fit is the zoom at which all of the picture is seen.
    function fit() {
      const s = size();
      return s ? Math.min(1, Math.max(0.1, (parseFloat(getComputedStyle(box).maxHeight) - 3) * zoom / s.r.height || 1)) : 1;
    }

    // zoomTo zooms so that a place of the window, the middle of the box unless said, stays where it is.
    function zoomTo(to, x, y) {
      const before = size();
      if (!before) return;
      const b = box.getBoundingClientRect();
      if (x === undefined) [x, y] = [(b.left + b.right) / 2, (Math.max(b.top, 0) + Math.min(b.bottom, innerHeight)) / 2];
      const part = [(x - before.r.left) / before.r.width, (y - before.r.top) / before.r.height];
      const least = fit();
      all = to < least * 1.01;
      zoom = Math.min(most, all ? least : to);
      box.style.setProperty("--zoom", zoom);
      const after = size().r;
      box.scrollLeft += after.left + part[0] * after.width - x;
      box.scrollTop += after.top + part[1] * after.height - y;
      redraw();
    }

    // show brings a place of the picture, in its own units, into the middle, at least so large.
    function show(x, y, least) {
      if (zoom < least) zoomTo(least);
      const s = size(), b = box.getBoundingClientRect();
      if (!s) return;
      box.scrollLeft += s.r.left + x * s.px - (b.left + b.right) / 2;
      box.scrollTop += s.r.top + y * s.px - (b.top + b.bottom) / 2;
    }
    box.addEventListener("place", e => show(e.detail.x, e.detail.y, e.detail.zoom || 3));

    function redraw() {
      if (all && box.hasAttribute("data-whole") && Math.abs(fit() - zoom) > 0.001) box.style.setProperty("--zoom", zoom = fit());
      const s = size();
      whole.disabled = smaller.disabled = zoom <= fit() * 1.001;
      larger.disabled = zoom === most;
      measure.hidden = scale.hidden = !s || !s.scale;
      if (!s) return;
      if (points.length && chosenOn !== frameOf(s)) setMeasuring(measuring); // drawn anew otherwise: the places chosen are not there
      if (s.scale) {
        const [mm, words] = round(150 / (s.px * s.scale), unit());
        bar.style.width = mm * s.scale * s.px + "px";
        length.textContent = words;
      }
      marks.setAttribute("viewBox", "0 0 " + s.wide + " " + s.high);
      const draw = (kind, of) => {
        const e = document.createElementNS(marks.namespaceURI, kind);
        for (const k in of) e.setAttribute(k, of[k]);
        return e;
      };
      const arm = 9 / s.px, plus = ([x, y]) => draw("path", { d: `M${x - arm} ${y}H${x + arm}M${x} ${y - arm}V${y + arm}` });
      const drawn = points.map(plus);
      if (points.length === 2) drawn.push(draw("path", { d: `M${points[0]}L${points[1]}` }));
      if (cross && measuring) drawn.push(Object.assign(draw("circle", { cx: cross[0], cy: cross[1], r: arm })), plus(cross));
      marks.replaceChildren(...drawn);
      if (marks.parentNode !== box) box.append(marks);
    }

    const frameOf = s => [s.wide, s.high, s.scale].join(" ");
    // tell says what is done or measured. The picture below stays where it is between two choices: no fewer lines follow.
    function tell(words) {
      said.textContent = words;
      said.style.minHeight = measuring ? Math.max(parseFloat(said.style.minHeight) || 0, said.offsetHeight) + "px" : "";
    }
    function setMeasuring(on) {
      measuring = on;
      points = [];
      names = [];
      cross = null;
      measure.setAttribute("aria-pressed", String(on));
      box.classList.toggle("measuring", on);
      tell(on ? "Choose the first point: click or tap, or in the picture move the cross by arrow keys and press Enter." + (picture().querySelector(".handle") ? " It goes to a lettered point or an edge\u2019s end nearby." : "") : "");
      redraw();
    }

    // near is the place within reach that a choice most likely means, a letter before an edge's end as near; null for none. far
    // is how far off it lies.
    function near(x, y, reach) {
      let found = null, least = reach;
      const offer = (at, name) => {
        const far = Math.hypot(at[0] - x, at[1] - y);
        if (far < least) [found, least] = [{ at, name, far }, far];
      };
      for (const e of picture().querySelectorAll(".handle.point[data-at]")) offer(e.dataset.at.split(" ").map(Number), e.dataset.name);
      for (const e of picture().querySelectorAll(".handle.edge")) {
        const all = e.getAttribute("d").slice(1).split("L");
        for (const at of [all[0], all[all.length - 1]]) {
          const end = at.split(" ").map(Number);
          if (!found || Math.hypot(end[0] - found.at[0], end[1] - found.at[1]) > 0.5) offer(end, "the end of " + e.dataset.name);
        }
      }
      return found;
    }

    function take(x, y) {
      const s = size();
      if (!s) return;
      if (y > s.to) {
        tell("The small grey pieces are not drawn to the scale of the others: nothing is measured in them.");
        return;
      }
      if (points.length === 2) [points, names] = [[], []];
      const place = near(x, y, 14 / s.px), other = place ? null : near(x, y, Infinity);
      const missed = other ? " No point here: the nearest is " + other.name + ", " + say(other.far / s.scale, unit(), 0, true) + " away." : "";
      points.push(place ? place.at : [x, y]);
      chosenOn = frameOf(s);
      names.push(place ? place.name : "");
      if (points.length === 1) tell((names[0] ? "From " + names[0] + ". " : "") + "Choose the second point." + missed);
      else {
        const [a, b] = points, step = 1 / (s.px * s.scale), tape = Boolean(names[0] && names[1]);
        tell((tape ? "From " + names[0] + " to " + names[1] : "Distance") + ": " + say(Math.hypot(a[0] - b[0], a[1] - b[1]) / s.scale, unit(), step, tape) + "." +
          (step > 0.5 && !tape ? " One point of the screen is " + say(step, unit(), 0) + " here: zoom in to choose more finely." : "") + missed);
      }
      redraw();
    }

    box.addEventListener("keydown", e => {
      if (e.target !== box || e.ctrlKey || e.metaKey || e.altKey) return;
      const way = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[e.key], s = size();
      if (!s) return;
      if (e.key === "+" || e.key === "=") zoomTo(zoom * 1.5);
      else if (e.key === "-") zoomTo(zoom / 1.5);
      else if (e.key === "0") zoomTo(0);
      else if (e.key === "Escape" && measuring) setMeasuring(false);
      else if (measuring && way) {
        const b = box.getBoundingClientRect(), step = (e.shiftKey ? 1 : 10) / s.px;
        if (!cross) cross = [((b.left + b.right) / 2 - s.r.left) / s.px, ((b.top + b.bottom) / 2 - s.r.top) / s.px];
        cross = [Math.min(s.wide, Math.max(0, cross[0] + way[0] * step)), Math.min(s.high, Math.max(0, cross[1] + way[1] * step))];
        const x = s.r.left + cross[0] * s.px, y = s.r.top + cross[1] * s.px;
        if (x < b.left || x > b.right || y < b.top || y > b.bottom) show(cross[0], cross[1], 1);
        redraw();
      } else if (measuring && cross && (e.key === "Enter" || e.key === " ")) take(...cross);
      else if (way) box.scrollBy(way[0] * 60, way[1] * 60);
      else return;
      e.preventDefault();
    });
    // A wheel scrolls the page unless the picture has the focus: nobody is caught in it by chance. A trackpad's pinch comes
    // as a wheel with Control.
    box.addEventListener("wheel", e => {
      if (!e.ctrlKey && document.activeElement !== box) return;
      e.preventDefault();
      zoomTo(zoom * Math.exp(-e.deltaY * (e.ctrlKey ? 0.01 : 0.002)), e.clientX, e.clientY);
    }, { passive: false });

    let pinch = null;
    const two = t => [Math.hypot(t[0].clientX - t[1].clientX, t[0].clientY - t[1].clientY) || 1, (t[0].clientX + t[1].clientX) / 2, (t[0].clientY + t[1].clientY) / 2];
    box.addEventListener("touchstart", e => { pinch = e.touches.length === 2 ? [zoom, ...two(e.touches)] : null; }, { passive: true });
    box.addEventListener("touchmove", e => {
      if (!pinch || e.touches.length !== 2) return;
      if (e.cancelable) e.preventDefault();
      const [apart, x, y] = two(e.touches);
      box.scrollLeft += pinch[2] - x;
      box.scrollTop += pinch[3] - y;
      [pinch[2], pinch[3]] = [x, y];
      zoomTo(pinch[0] * apart / pinch[1], x, y);
    }, { passive: false });
    box.addEventListener("touchend", () => { pinch = null; });

    // A mouse drags the picture; what follows a drag is no click.
    let from = null;
    box.addEventListener("dragstart", e => e.preventDefault());
    box.addEventListener("pointerdown", e => {
      dragged = false;
      from = e.pointerType === "mouse" && e.button === 0 ? [e.clientX, e.clientY, box.scrollLeft, box.scrollTop] : null;
    });
    addEventListener("pointermove", e => {
      if (!from || !(e.buttons & 1)) { from = null; return; }
      const [x, y] = [e.clientX - from[0], e.clientY - from[1]];
      if (!dragged && Math.hypot(x, y) < 5) return;
      dragged = true;
      box.scrollLeft = from[2] - x;
      box.scrollTop = from[3] - y;
    });
    box.addEventListener("click", e => {
      const s = size();
      if (!dragged && !measuring) return;
      e.preventDefault();
      e.stopPropagation();
      if (!dragged && s) take((e.clientX - s.r.left) / s.px, (e.clientY - s.r.top) / s.px);
      dragged = false;
    }, true);

    // The page may put another picture in the place of this one.
    new MutationObserver(() => { if (marks.parentNode !== box) redraw(); }).observe(box, { childList: true });
    new ResizeObserver(redraw).observe(box);
    box.addEventListener("load", redraw, true);
    redraw();
  }

  const all = () => { for (const box of document.querySelectorAll("[data-large]")) attach(box); };
  document.addEventListener("renewed", all);
  all();
})();
