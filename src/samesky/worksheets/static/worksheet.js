// What is typed is sent at once and kept by the server; until the server says so it is kept in this browser.
"use strict";
(() => {
  const base = document.body.dataset.base;
  const kept = document.querySelector("[data-kept]");
  let version = document.body.dataset.version;
  let trouble = "";

  const json = async (where, sent) => {
    const answer = await fetch(where, {
      method: sent === undefined ? "GET" : "POST",
      headers: { "Accept": "application/json", ...(sent === undefined ? {} : { "Content-Type": "application/json" }) },
      body: sent === undefined ? undefined : JSON.stringify(sent),
      keepalive: sent !== undefined,
    });
    const body = answer.status === 204 ? null : await answer.json().catch(() => ({ problem: "the answer cannot be read" }));
    return { status: answer.status, body };
  };

  const saying = (changed, waiting) => {
    const save = document.querySelector("[data-save]"), back = document.querySelector("[data-throw]");
    save.hidden = back.hidden = !changed.length;
    kept.classList.toggle("trouble", Boolean(trouble));
    kept.textContent = trouble
      || (waiting ? "Keeping what you type …"
        : changed.length ? `Everything typed is kept. Not yet in the campaign's files: ${changed.join(", ")}.`
          : "Everything is in the campaign's files.");
  };
  const changedNow = () => [...document.querySelectorAll("[data-changed]")].flatMap((one) => one.textContent.split(", "));
  let changed = changedNow();

  const show = (state) => {
    version = state.version;
    changed = state.changed;
    const verdict = document.querySelector("[data-verdict]"), mend = document.querySelector("[data-mend]");
    if (verdict && verdict.innerHTML !== state.verdict) verdict.innerHTML = state.verdict;
    // Read out only when the answer that decides has changed, not at every digit.
    const first = document.querySelector("[data-verdict] .says, [data-verdict] .note"), aloud = document.querySelector("[data-headline]");
    if (aloud && first && aloud.textContent !== first.textContent) aloud.textContent = first.textContent;
    if (mend && mend.innerHTML !== state.mend) mend.innerHTML = state.mend;
  };

  // Edits that the server has not kept yet, in this browser's own store, so that a closed tab loses nothing.
  const pending = (name) => {
    const key = `samesky ${base} ${name}`;
    let edits = new Map();
    try { edits = new Map(JSON.parse(localStorage.getItem(key) || "[]")); } catch { edits = new Map(); }
    const store = () => {
      try { edits.size ? localStorage.setItem(key, JSON.stringify([...edits])) : localStorage.removeItem(key); } catch { /* full or refused: the page itself still holds it */ }
    };
    return {
      get: (place) => edits.get(place),
      set: (place, text) => { edits.set(place, text); store(); },
      drop: (place) => { edits.delete(place); store(); },
      first: (held) => [...edits.keys()].find((place) => !held.has(place)),
      size: () => edits.size,
      all: () => [...edits],
    };
  };

  window.addEventListener("beforeunload", (event) => { if (trouble) event.preventDefault(); });

  // ---- the table of runs --------------------------------------------------------------------------------------
  const work = document.querySelector("[data-runs]");
  if (work) {
    const where = `${base}/runs/${encodeURIComponent(work.dataset.stem)}`;
    const body = work.querySelector("tbody"), says = work.querySelector("[data-cell-says]");
    const conflict = work.querySelector("[data-conflict]");
    let state = JSON.parse(document.querySelector("[data-state]").textContent);
    let seen = state.rows.map((row) => [...row]);
    const edits = pending(work.dataset.stem), held = new Set();
    let sending = false, again = 0, soon = 0;

    const cell = (row, column) => body.querySelector(`[data-r="${row}"][data-c="${column}"]`);
    const width = state.header.length;
    const blank = () => Array(width).fill("");

    const number = (row) => state.numbers[row] ?? state.numbers.at(-1) + 1 + row - state.numbers.length;

    const addRow = () => {
      const row = body.rows.length, copy = body.rows[row - 1].cloneNode(true);
      copy.dataset.row = row;
      copy.className = "";
      copy.querySelector("th").textContent = number(row);
      copy.id = `row-${row + 1}`;
      copy.querySelectorAll("[data-r]").forEach((field) => {
        field.dataset.r = row;
        field.name = `c-${row}-${field.dataset.c}`;
        field.value = "";
        field.removeAttribute("aria-invalid");
        field.setAttribute("aria-label", `${state.header[field.dataset.c]}, row ${number(row)}`);
        field.closest("td").classList.remove("wrong", "doubtful", "waiting");
      });
      const gone = copy.querySelector("[data-delete]");
      gone.dataset.delete = row;
      gone.hidden = true;
      gone.setAttribute("aria-label", `Delete row ${number(row)}`);
      body.append(copy);
    };

    const marks = () => {
      body.querySelectorAll(".wrong, .doubtful").forEach((one) => one.classList.remove("wrong", "doubtful"));
      body.querySelectorAll("[aria-invalid]").forEach((one) => one.removeAttribute("aria-invalid"));
      body.querySelectorAll("[data-r]").forEach((one) => { delete one.dataset.text; delete one.dataset.kind; });
      state.marks.forEach((mark) => {
        if (mark.row < 0) return;
        const fields = mark.column < 0 ? [] : [cell(mark.row, mark.column)];
        const wrong = mark.kind === "error";
        if (wrong && body.rows[mark.row]) body.rows[mark.row].classList.add("wrong");
        fields.filter(Boolean).forEach((field) => {
          if (field.dataset.kind === "error" && !wrong) return;
          field.closest("td").classList.add(wrong ? "wrong" : "doubtful");
          if (wrong) field.setAttribute("aria-invalid", "true");
          field.dataset.text = mark.text;
          field.dataset.kind = mark.kind;
        });
        if (!fields.length && body.rows[mark.row]) {
          const first = cell(mark.row, 0);
          if (first && !first.dataset.text) { first.dataset.text = mark.text; first.dataset.kind = mark.kind; }
        }
      });
      tell(document.activeElement);
    };

    const tell = (field) => {
      const text = field && field.dataset ? field.dataset.text : "";
      if (!field || !field.dataset || field.dataset.r === undefined) return;
      says.classList.toggle("wrong", field.dataset.kind === "error");
      says.textContent = text || field.dataset.said || "";
    };

    const redraw = () => {
      while (body.rows.length < Math.max(state.rows.length, seen.length)) addRow();
      seen = [...body.rows].map((_, row) => state.rows[row] ? [...state.rows[row]] : blank());
      body.querySelectorAll("[data-r]").forEach((field) => {
        const row = Number(field.dataset.r), column = Number(field.dataset.c);
        const place = `${row}:${column}`, text = seen[row][column];
        const typed = edits.get(place);
        field.closest("td").classList.toggle("waiting", typed !== undefined);
        if (typed === undefined && field.value !== text) put(field, text);
      });
      [...body.rows].forEach((one, row) => { one.querySelector("th").textContent = number(row); one.querySelector("[data-delete]").hidden = !seen[row].some(Boolean); });
      marks();
    };

    const put = (field, text) => {
      if (field.tagName === "SELECT" && ![...field.options].some((one) => one.value === text)) field.add(new Option(text, text));
      field.value = text;
    };

    const flush = async () => {
      if (sending) return;
      const place = edits.first(held);
      if (place === undefined) { saying(changed, false); return; }
      sending = true;
      clearTimeout(again);
      const [row, column] = place.split(":").map(Number), text = edits.get(place);
      saying(changed, true);
      let answer;
      try {
        answer = await json(`${where}/cell`, { row, column, text, seen: seen[row] || blank() });
      } catch { answer = null; }
      sending = false;
      if (answer && answer.status === 200) {
        trouble = "";
        if (edits.get(place) === text) edits.drop(place);
        state = answer.body;
        const field = cell(row, column);
        if (field) {
          field.dataset.said = state.said || "";
          if (edits.get(place) === undefined) put(field, state.rows[row] ? state.rows[row][column] : "");
        }
        show(state);
        redraw();
        if (state.said) { says.classList.remove("wrong"); says.textContent = state.said; }
      } else if (answer && answer.status === 409 && mine(row, answer.body.cells)) {
        // Sent by this browser just before the page was loaded again: nobody else's.
        redraw();
      } else if (answer && answer.status === 409) {
        held.add(place);
        ask(place, row, column, text, answer.body);
      } else if (answer && answer.status === 422 && /cell holds|there is no column|rows? at most|row \d+ of/.test(answer.body.problem)) {
        held.add(place);
        says.classList.add("wrong");
        says.textContent = answer.body.problem;
      } else {
        trouble = answer && answer.body && answer.body.problem
          ? `Not kept on the disk: ${answer.body.problem} What you typed is kept in this browser, and tried again.`
          : "The pages do not answer: is `samesky worksheet` still running? What you type is kept in this browser, and sent when they answer.";
        saying(changed, false);
        again = setTimeout(flush, 2000);
        return;
      }
      saying(changed, edits.size() > held.size);
      flush();
    };

    const mine = (row, cells) => {
      const other = cells.map((text, column) => column).filter((column) => cells[column] !== seen[row][column]);
      if (!other.every((column) => edits.get(`${row}:${column}`) === cells[column])) return false;
      other.forEach((column) => edits.drop(`${row}:${column}`));
      while (state.rows.length <= row) state.rows.push(blank());
      state.rows[row] = [...cells];
      return true;
    };

    const ask = (place, row, column, text, answer) => {
      const theirs = answer.cells[column];
      conflict.hidden = false;
      conflict.replaceChildren();
      const words = document.createElement("p");
      words.textContent = `Row ${number(row)} was changed on another page. ${state.header[column]}: you typed “${text}”, there it is “${theirs}” now.`;
      const mine = document.createElement("button"), other = document.createElement("button");
      mine.type = other.type = "button";
      mine.textContent = "Write mine";
      other.textContent = "Leave theirs";
      other.className = "plain";
      const done = (write) => {
        conflict.hidden = true;
        held.delete(place);
        while (state.rows.length <= row) state.rows.push(blank());
        state.rows[row] = [...answer.cells];
        if (!write) edits.drop(place);
        redraw();
        flush();
        cell(row, column).focus();
      };
      mine.addEventListener("click", () => done(true));
      other.addEventListener("click", () => done(false));
      conflict.append(words, mine, " ", other);
      mine.focus();
    };

    const typed = (field, now) => {
      const row = Number(field.dataset.r), column = Number(field.dataset.c), place = `${row}:${column}`;
      if (field.value === seen[row]?.[column]) {
        if (edits.get(place) === undefined) return;
        if (!sending) { edits.drop(place); held.delete(place); field.closest("td").classList.remove("waiting"); return; }
      }
      delete field.dataset.said;
      edits.set(place, field.value);
      held.delete(place);
      field.closest("td").classList.add("waiting");
      if (row >= body.rows.length - 1) addRow(), seen.push(blank());
      clearTimeout(soon);
      if (now) flush(); else soon = setTimeout(flush, 250);
    };
    body.addEventListener("input", (event) => typed(event.target, false));
    body.addEventListener("change", (event) => typed(event.target, true));
    body.addEventListener("focusin", (event) => tell(event.target));

    body.addEventListener("keydown", (event) => {
      const field = event.target;
      if (field.dataset.r === undefined || event.ctrlKey || event.altKey || event.metaKey) return;
      const row = Number(field.dataset.r), column = Number(field.dataset.c);
      const go = (r, c) => { const next = cell(r, c); if (next) { event.preventDefault(); next.focus(); if (next.select) next.select(); } };
      if (event.key === "Enter") go(row + (event.shiftKey ? -1 : 1), column);
      else if (field.tagName === "SELECT") return;
      else if (event.key === "ArrowDown") go(row + 1, column);
      else if (event.key === "ArrowUp") go(row - 1, column);
      else if (event.key === "ArrowRight" && field.selectionStart === field.value.length && field.selectionEnd === field.value.length) go(row, column + 1);
      else if (event.key === "ArrowLeft" && field.selectionStart === 0 && field.selectionEnd === 0) go(row, column - 1);
      else if (event.key === "Escape") { field.value = seen[row][column]; typed(field, true); }
    });

    body.addEventListener("paste", async (event) => {
      const text = event.clipboardData.getData("text/plain"), field = event.target;
      if (!/[\t\n]/.test(text.trim()) || field.dataset.r === undefined) return;
      event.preventDefault();
      let answer = null;
      try {
        answer = await json(`${where}/paste`, { row: Number(field.dataset.r), column: Number(field.dataset.c), text });
      } catch { answer = null; }
      if (answer && answer.status === 200) {
        if (answer.body.header.join("\t") !== state.header.join("\t")) { location.reload(); return; }
        state = answer.body;
        while (body.rows.length < state.rows.length) addRow();
        show(state);
        redraw();
        saying(changed, false);
        says.classList.remove("wrong");
        says.textContent = state.said;
      } else {
        says.classList.add("wrong");
        says.textContent = answer ? answer.body.problem : "Not pasted: the pages do not answer. The cells are still in the clipboard.";
      }
    });

    body.addEventListener("click", async (event) => {
      const button = event.target.closest("[data-delete]");
      if (!button) return;
      const row = Number(button.dataset.delete), text = seen[row].filter(Boolean).join(", ");
      if (!confirm(`Delete row ${number(row)} (${text})? A run that was flown and does not count keeps its row, with the reason under exclude.`)) return;
      try {
        const answer = await json(`${where}/delete`, { row, seen: seen[row] });
        if (answer.status === 200) { state = answer.body; show(state); redraw(); saying(changed, false); says.textContent = state.said; }
        else says.textContent = answer.body.problem;
      } catch { says.textContent = "Not deleted: the pages do not answer."; }
    });

    // What a closed tab or a crash left unsent is put back and sent.
    edits.all().forEach(([place, text]) => {
      const [row, column] = place.split(":").map(Number);
      if (column >= width) { edits.drop(place); return; }
      while (body.rows.length <= row + 1) { addRow(); seen.push(blank()); }
      put(cell(row, column), text);
    });
    redraw();
    flush();

    setInterval(async () => {
      if (document.hidden || sending || edits.size()) return;
      try {
        const answer = await json(`${where}/state?version=${version}`);
        if (trouble) { trouble = ""; saying(changed, false); }
        if (answer.status === 200 && !edits.size() && !sending) {
          if (answer.body.header.join("\t") !== state.header.join("\t")) { location.reload(); return; }
          state = answer.body;
          show(state);
          redraw();
          saying(changed, false);
        }
      } catch { /* the next typing says so */ }
    }, 3000);
  }

  // ---- the settings -------------------------------------------------------------------------------------------
  const settings = document.querySelector("[data-settings]");
  if (settings) {
    const edits = pending("settings");
    let sending = false, again = 0, soon = 0;
    const field = (place) => [...settings.querySelectorAll("[data-entry]")].find((one) => key(one) === place);
    const key = (one) => `${one.closest("[data-group]").dataset.group}\n${one.dataset.entry}`;
    const wrong = (pairs) => {
      const by = new Map(pairs);
      settings.querySelectorAll(".entry").forEach((one) => {
        const text = by.get(one.dataset.key) || "", input = one.querySelector("[data-entry]");
        const place = one.querySelector("[data-wrong]");
        if (place.textContent !== text) place.textContent = text;
        text ? input.setAttribute("aria-invalid", "true") : input.removeAttribute("aria-invalid");
      });
    };
    const flush = async () => {
      if (sending) return;
      const place = edits.first(new Set());
      if (place === undefined) { saying(changed, false); return; }
      sending = true;
      clearTimeout(again);
      saying(changed, true);
      const [path, name] = place.split("\n"), text = edits.get(place);
      let answer = null;
      try { answer = await json(`${base}/settings/entry`, { path, name, text }); } catch { answer = null; }
      sending = false;
      if (answer && answer.status === 200) {
        trouble = "";
        if (edits.get(place) === text) edits.drop(place);
        show(answer.body);
        wrong(answer.body.wrong);
      } else if (answer && answer.status === 422 && answer.body.problem.startsWith("campaign.toml")) {
        // What was typed is no value of its kind: it stays in the field, with what is wrong with it.
        edits.drop(place);
        const one = field(place);
        if (one) { one.setAttribute("aria-invalid", "true"); one.closest(".entry").querySelector("[data-wrong]").textContent = answer.body.problem; }
      } else {
        trouble = answer && answer.body && answer.body.problem
          ? `Not kept on the disk: ${answer.body.problem} What you typed is kept in this browser, and tried again.`
          : "The pages do not answer: is `samesky worksheet` still running? What you type is kept in this browser, and sent when they answer.";
        saying(changed, false);
        again = setTimeout(flush, 2000);
        return;
      }
      flush();
    };
    const typed = (event) => {
      if (event.target.dataset.entry === undefined) return;
      edits.set(key(event.target), event.target.value);
      clearTimeout(soon);
      event.type === "change" ? flush() : soon = setTimeout(flush, 400);
    };
    settings.addEventListener("input", typed);
    settings.addEventListener("change", typed);
    settings.addEventListener("keydown", (event) => { if (event.key === "Enter" && event.target.dataset.entry !== undefined) event.preventDefault(); });
    edits.all().forEach(([place, text]) => { const one = field(place); if (one) one.value = text; else edits.drop(place); });
    flush();
  }

  // ---- the verdict --------------------------------------------------------------------------------------------
  const page = document.querySelector("[data-verdict-page]");
  if (page) {
    const frame = page.querySelector("[data-report]"), form = page.querySelector("[data-has-report]");
    setInterval(async () => {
      if (document.hidden) return;
      try {
        const answer = await json(`${base}/verdict/state?version=${version}`);
        if (answer.status !== 200) return;
        show(answer.body);
        saying(changed, false);
        frame.hidden = form.hidden = !answer.body.report;
        if (answer.body.report) {
          const down = frame.contentWindow ? frame.contentWindow.scrollY : 0;
          frame.addEventListener("load", () => frame.contentWindow.scrollTo(0, down), { once: true });
          frame.src = `${base}/report.html?version=${version}`;
        }
      } catch { /* not running: the page keeps what it shows */ }
    }, 2000);
  }
})();
