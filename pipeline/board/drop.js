// Takes files that are let go anywhere over the page of the drop form, and lists what is chosen. Without scripts the
// form's own field does.
"use strict";
(() => {
  const form = document.querySelector("[data-drop]");
  if (!form) return;
  const field = form.querySelector("input[type=file]"), told = form.querySelector("#chosen");
  const list = () => {
    const files = [...field.files], all = files.reduce((n, f) => n + f.size, 0);
    told.textContent = files.length ? `Chosen: ${files.map(f => f.name).join(", ")} (${all < 1e6 ? Math.ceil(all / 1e3) + " kB" : (all / 1e6).toFixed(1) + " MB"})` : "";
    form.classList.remove("over");
  };
  field.addEventListener("change", list);
  const brings = e => e.dataTransfer && [...e.dataTransfer.types].includes("Files");
  document.addEventListener("dragover", e => { if (brings(e)) { e.preventDefault(); form.classList.add("over"); } });
  document.addEventListener("dragleave", e => { if (!e.relatedTarget) form.classList.remove("over"); });
  document.addEventListener("drop", e => {
    if (!brings(e)) return;
    e.preventDefault();
    field.files = e.dataTransfer.files;
    list();
  });
  list();
})();
