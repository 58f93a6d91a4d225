// Files dropped on a form go into its file field and are sent.
"use strict";
document.querySelectorAll("[data-drop]").forEach((form) => {
  const field = form.querySelector("input[type=file]");
  form.addEventListener("dragover", (event) => { event.preventDefault(); form.classList.add("over"); });
  form.addEventListener("dragleave", () => form.classList.remove("over"));
  form.addEventListener("drop", (event) => {
    event.preventDefault();
    form.classList.remove("over");
    if (event.dataTransfer.files.length) {
      field.files = event.dataTransfer.files;
      const button = form.querySelector("button");
      form.requestSubmit(button);
    }
  });
  // A field that was left empty must not send an empty file besides the one that was chosen.
  form.addEventListener("submit", () => {
    form.querySelectorAll("input[type=file]").forEach((one) => { if (!one.files.length) one.disabled = true; });
  });
});
