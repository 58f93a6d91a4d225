// The smallest difference that matters is asked for of what is ticked, and of nothing else.
"use strict";
(() => {
  const boxes = [...document.querySelectorAll("[data-asked]")];
  const follow = (box) => {
    const field = box.closest(".asked").querySelector("[data-matters]");
    field.required = box.checked;
  };
  boxes.forEach((box) => { follow(box); box.addEventListener("change", () => follow(box)); });
})();
