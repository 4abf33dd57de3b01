// The browser's own notifications of what happens to jobs, one for each event: the page that holds the stream shows it.
// They are asked for by a button and hold a job's number and its device, no name and no measure.
"use strict";
(() => {
  const words = { "needs-you": "needs you", "refused": "was refused", "done": "is done" };
  const able = window.isSecureContext && "Notification" in window;
  const on = () => able && Notification.permission === "granted" && localStorage.getItem("notify") === "on";
  if (localStorage.getItem("notify") === "on" && !on()) localStorage.removeItem("notify"); // taken back in the browser's settings

  document.addEventListener("heard", e => {
    const { what, data, holds } = e.detail;
    if (what !== "tell" || !holds || !on()) return;
    try {
      const said = data.trial && data.what === "done" ? "has moved with the tool up" : words[data.what];
      const n = new Notification(`Job ${data.job} ${said}`, { body: data.device, tag: `event-${data.no}` });
      n.onclick = () => { n.close(); window.open(`/job/${data.job}`, "_blank", "noopener"); };
    } catch { // some browsers of phones have the word and not the thing
      localStorage.removeItem("notify");
      show();
    }
  });

  const place = document.getElementById("notify");
  if (!place) return;
  const button = place.querySelector("button"), said = place.querySelector("[role=status]");
  function show(why) {
    button.textContent = on() ? "Turn notifications off" : "Notify me in this browser";
    button.hidden = !able;
    if (why) said.textContent = why;
    else if (on()) said.textContent = "Notifications are on while a page of this workroom is open in this browser.";
    else if (!window.isSecureContext) said.textContent = "Notifications need a page that nobody else can read: open it on the workroom's own machine, or have it served with TLS (cert and key in the workroom file's page).";
    else if (!able) said.textContent = "This browser has no notifications.";
    else said.textContent = "A notification says that a job needs you, was refused or is done.";
  }
  button.addEventListener("click", async () => {
    if (on()) {
      localStorage.removeItem("notify");
      show();
      return;
    }
    if (await Notification.requestPermission() === "granted") {
      localStorage.setItem("notify", "on");
      show();
    } else {
      show("This browser refuses them: allow notifications for this page in its settings, then press again.");
    }
  });
  window.addEventListener("storage", () => show()); // turned on or off in another page
  show();
  place.hidden = false;
})();
