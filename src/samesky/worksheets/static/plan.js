// The plan takes seconds: it is asked for here without leaving the page, and marked when the campaign has changed since.
"use strict";
(() => {
  const page = document.querySelector("[data-plan]");
  if (!page) return;
  const base = document.body.dataset.base;
  const state = page.querySelector("[data-plan-state]"), result = page.querySelector("[data-plan-result]");
  const says = page.querySelector("[data-plan-says]"), again = page.querySelector("[data-again]");
  const GONE = "The pages do not answer: is `samesky worksheet` still running?";
  let version = document.body.dataset.version, marked = new Map(), asking = false;

  const ask = async (where, sent) => {
    try {
      const answer = await fetch(where, { method: sent ? "POST" : "GET", headers: { "Accept": "application/json" }, body: sent });
      const body = answer.status === 204 ? null : await answer.json().catch(() => ({ problem: "The answer cannot be read." }));
      return { status: answer.status, body };
    } catch { return { status: 0, body: { problem: GONE } }; }
  };
  const other = () => {
    const form = state.querySelector("[data-work]");
    return (form && new FormData(form).get("other")) || "";
  };
  const say = (place, text, kind) => {
    place.className = kind;
    place.textContent = text;
  };

  // What is wrong for the plan alone, at its entry; what is wrong with the campaign is shown there already.
  const wrong = (pairs) => {
    const by = new Map(pairs);
    page.querySelectorAll("[data-settings] .entry").forEach((one) => {
      const key = one.dataset.key, place = one.querySelector("[data-wrong]"), input = one.querySelector("[data-entry]");
      const text = by.get(key);
      if (text && !place.textContent) { place.textContent = text; input.setAttribute("aria-invalid", "true"); marked.set(key, text); }
      else if (!text && marked.has(key)) {
        if (place.textContent === marked.get(key)) { place.textContent = ""; input.removeAttribute("aria-invalid"); }
        marked.delete(key);
      }
    });
  };
  page.querySelectorAll("[data-settings] .entry").forEach((one) => {
    const text = one.querySelector("[data-wrong]").textContent;
    if (text) marked.set(one.dataset.key, text);
  });

  const stale = () => {
    const plan = result.querySelector("[data-version]");
    if (plan) plan.querySelector("[data-stale]").hidden = plan.dataset.version === version;
  };
  const look = async () => {
    if (document.hidden || asking) return;
    const answer = await ask(`${base}/plan/state?${new URLSearchParams({ version, other: other() })}`);
    if (answer.status !== 200 || asking) return;
    version = answer.body.version;
    if (state.innerHTML !== answer.body.state) state.innerHTML = answer.body.state;
    wrong(answer.body.wrong);
    again.hidden = !state.querySelector("[data-work]");
    if (!again.hidden && !again.firstElementChild) {
      const button = document.createElement("button");
      button.setAttribute("form", "work-it-out");
      button.textContent = "Work it out";
      again.append(button);
    }
    stale();
  };
  setInterval(look, 2000);
  page.querySelector("[data-settings]").addEventListener("change", () => setTimeout(look, 500));

  // What was typed last is on its way to the disk: the plan waits for it, a little while.
  const kept = async () => {
    for (let turn = 0; turn < 30; turn += 1) {
      let waiting = null;
      try { waiting = localStorage.getItem(`samesky ${base} settings`); } catch { return; }
      if (!waiting) return;
      await new Promise((done) => setTimeout(done, 100));
    }
  };

  document.addEventListener("submit", async (event) => {
    const form = event.target;
    if (form.matches("[data-work]")) {
      event.preventDefault();
      if (asking) return;
      asking = true;
      say(says, "Working it out: every order and number of runs that fits is tried. Some seconds …", "note");
      says.scrollIntoView({ block: "nearest" });
      await kept();
      const chosen = other(), answer = await ask(`${base}/plan/worked?${new URLSearchParams({ other: chosen })}`);
      asking = false;
      if (answer.status === 200) {
        say(says, "", "");
        result.innerHTML = answer.body.plan;
        history.replaceState(null, "", `${base}/plan?${new URLSearchParams({ other: chosen })}`);
        result.querySelector("#worked").focus();
      } else say(says, answer.body.problem, "problem");
      look();
    } else if (form.matches("[data-rehearse]")) {
      event.preventDefault();
      const place = form.parentElement.querySelector("[data-rehearse-says]"), shown = form.parentElement.querySelector("[data-rehearsed]");
      const button = form.querySelector("button"), sent = new URLSearchParams(new FormData(form));
      if (button.disabled) return;
      button.disabled = true;
      say(place, `Rehearsing ${sent.get("campaigns")} campaigns at each true difference …`, "note");
      const answer = await ask(form.action, sent);
      button.disabled = false;
      if (answer.status === 200) {
        say(place, "Rehearsed.", "note");
        shown.hidden = false;
        shown.querySelector("[data-rehearsal]").src = answer.body.page;
        shown.querySelector("[data-rehearsal-link]").href = answer.body.page;
      } else say(place, answer.body.problem, "problem");
    }
  });
  stale();
})();
