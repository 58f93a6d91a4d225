// The answers follow the fields; what was typed stays in this browser, and old answers are marked as old.
"use strict";
(() => {
  const root = document.querySelector("[data-today]");
  if (!root) return;
  const base = document.body.dataset.base, key = `samesky today ${base}`;
  const form = root.querySelector("[data-now]"), says = root.querySelector("[data-today-says]");
  const cards = root.querySelector("[data-cards]"), more = root.querySelector("[data-more-card]");
  const fields = () => [...form.querySelectorAll("input, select")];
  let soon = 0, asked = 0, old = "";

  const clock = () => new Date().toTimeString().slice(0, 5);
  const query = () => {
    const sent = new URLSearchParams();
    fields().forEach((one) => sent.set(one.name, one.value));
    return sent;
  };
  const wrong = (found) => root.querySelectorAll("[data-field]").forEach((one) => {
    const text = found[one.dataset.field] || "", field = one.querySelector("input, select");
    one.querySelector("[data-wrong]").textContent = text;
    text ? field.setAttribute("aria-invalid", "true") : field.removeAttribute("aria-invalid");
  });
  const fetched = async (where, into) => {
    const turn = ++asked;
    let answer;
    try {
      answer = await fetch(`${base}/today/${where}?${query()}`, { headers: { "Accept": "application/json" } });
      if (turn !== asked && where === "cards") return;
      const body = await answer.json();
      if (!answer.ok) { says.textContent = body.problem; return; }
      const open = [...into.querySelectorAll("section")].filter((one) => one.querySelector("details[open]")).map((one) => one.id);
      into.innerHTML = body.cards;
      open.forEach((id) => { const box = into.querySelector(`#${id} details`); if (box) box.open = true; });
      wrong(body.wrong);
      root.classList.remove("old");
      old = clock();
      says.textContent = into === cards && into.querySelector(".card.no") ? into.querySelector(".card.no .says").textContent : "";
    } catch {
      root.classList.add("old");
      says.textContent = `The pages do not answer. What stands here is ${old ? `of ${old}` : "old"}; what you type is kept in this browser.`;
    }
  };

  form.addEventListener("input", (event) => {
    const box = event.target.closest("[data-field]");
    if (box) box.querySelector("[data-origin]").textContent = "";
    const typed = JSON.parse(localStorage.getItem(key) || "{}");
    typed[event.target.name] = event.target.value;
    try { localStorage.setItem(key, JSON.stringify({ ...typed, day: new Date().toDateString() })); } catch { /* full: the address keeps them */ }
    more.replaceChildren();
    clearTimeout(soon);
    soon = setTimeout(() => fetched("cards", cards), 300);
  });
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    if (event.submitter && event.submitter.name === "more") {
      says.textContent = "Working it out, up to ten seconds …";
      event.submitter.disabled = true;
      await fetched("more", more);
      event.submitter.disabled = false;
      more.scrollIntoView({ block: "nearest" });
    } else fetched("cards", cards);
  });

  // What was typed today is put back; yesterday's air is of no use.
  let typed = {};
  try { typed = JSON.parse(localStorage.getItem(key) || "{}"); } catch { typed = {}; }
  if (typed.day === new Date().toDateString() && !location.search) {
    let changed = false;
    fields().forEach((one) => {
      if (typed[one.name] === undefined || typed[one.name] === one.value) return;
      if (one.tagName === "SELECT" && ![...one.options].some((option) => option.value === typed[one.name])) return;
      one.value = typed[one.name];
      const box = one.closest("[data-field]");
      if (box) box.querySelector("[data-origin]").textContent = "typed before";
      changed = true;
    });
    if (changed) fetched("cards", cards);
  }
  old = clock();
})();
