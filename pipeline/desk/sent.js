// Looks again what became of a draft that was sent, until its job has ended. Without scripts the link Look again does the same.
"use strict";
(() => {
  if (!document.querySelector("#sent")) return;
  const look = setInterval(async () => {
    const here = document.querySelector("#sent");
    if (here.hasAttribute("data-ended")) { clearInterval(look); return; }
    if (document.hidden) return;
    try {
      const answer = await fetch(location.href);
      if (!answer.ok) return;
      const now = new DOMParser().parseFromString(await answer.text(), "text/html").querySelector("#sent");
      if (!now || now.innerHTML === here.innerHTML) return;
      const link = here.contains(document.activeElement); // the focus stays
      here.replaceChildren(...[...now.childNodes].map(n => document.importNode(n, true)));
      here.toggleAttribute("data-ended", now.hasAttribute("data-ended"));
      if (link) here.querySelector("a").focus();
    } catch { return; } // asked again
  }, 1000);
})();
