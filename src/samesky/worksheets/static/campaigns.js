// The smallest difference that matters is asked for of what is ticked, and of nothing else. What is sent is sent once:
// a second click on a button would make a second campaign.
"use strict";
(() => {
  document.querySelectorAll("form[method=post]").forEach((form) => {
    let sent = false;
    form.addEventListener("submit", (event) => { if (sent) event.preventDefault(); sent = true; });
    window.addEventListener("pageshow", () => { sent = false; });
  });
  const boxes = [...document.querySelectorAll("[data-asked]")];
  const follow = (box) => {
    const field = box.closest(".asked").querySelector("[data-matters]");
    field.required = box.checked;
  };
  boxes.forEach((box) => { follow(box); box.addEventListener("change", () => follow(box)); });
})();
