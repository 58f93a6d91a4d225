// What is typed is sent at once and kept by the server; until the server says so it is kept in this browser.
"use strict";
(() => {
  const base = document.body.dataset.base;
  const kept = document.querySelector("[data-kept]");
  let version = document.body.dataset.version;
  let trouble = "", stuck = "", elsewhere = "";
  // True when nothing typed waits to be sent, else a promise of it. Set by the part that takes typing.
  let settled = () => true;

  const json = async (where, sent) => {
    const text = sent === undefined ? undefined : JSON.stringify(sent);
    const answer = await fetch(where, {
      method: sent === undefined ? "GET" : "POST",
      headers: { "Accept": "application/json", ...(sent === undefined ? {} : { "Content-Type": "application/json" }) },
      body: text,
      // Goes on when the page is closed; browsers refuse that to more than 64 kB.
      keepalive: text !== undefined && text.length < 15000,
    });
    const body = answer.status === 204 ? null : await answer.json().catch(() => ({ problem: "the answer cannot be read" }));
    return { status: answer.status, body };
  };

  const saying = (changed, waiting) => {
    const save = document.querySelector("[data-save]"), back = document.querySelector("[data-throw]");
    save.hidden = back.hidden = !changed.length;
    kept.classList.toggle("trouble", Boolean(trouble || stuck || elsewhere));
    kept.textContent = trouble || stuck || elsewhere
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
    tabs(state.tabs);
  };

  // A measure that is added gets its tab at once; the tab of this page stays marked.
  const tabs = (html) => {
    const list = document.querySelector("[data-tabs]"), copy = list.cloneNode(false);
    copy.innerHTML = html;
    const links = (one) => [...one.querySelectorAll("a")].map((link) => `${link.getAttribute("href")} ${link.textContent}`).join("\n");
    if (links(copy) === links(list) || list.contains(document.activeElement)) return;
    const here = list.querySelector("[aria-current]")?.getAttribute("href");
    copy.querySelectorAll("a:not([data-part])").forEach((link) => {
      link.getAttribute("href") === here ? link.setAttribute("aria-current", "page") : link.removeAttribute("aria-current");
    });
    list.replaceChildren(...copy.children);
  };

  // Edits that the server has not kept yet, in this browser's own store, so that a closed tab loses nothing.
  const shelf = `samesky ${base} `;
  const pending = (name) => {
    const key = shelf + name;
    const stored = () => { try { return new Map(JSON.parse(localStorage.getItem(key) || "[]")); } catch { return new Map(); } };
    const edits = stored();
    // One at a time: another page of this browser may keep some of its own there.
    const store = (place) => {
      try {
        const all = stored();
        edits.has(place) ? all.set(place, edits.get(place)) : all.delete(place);
        all.size ? localStorage.setItem(key, JSON.stringify([...all])) : localStorage.removeItem(key);
      } catch { /* full or refused: the page itself still holds it */ }
    };
    return {
      get: (place) => edits.get(place)?.text,
      seen: (place) => edits.get(place)?.seen,
      set: (place, text, seen) => { edits.set(place, { text, seen }); store(place); },
      drop: (place) => { edits.delete(place); store(place); },
      later: (place) => { const edit = edits.get(place); if (edits.delete(place)) edits.set(place, edit); },
      first: (held) => [...edits.keys()].find((place) => !held.has(place)),
      size: () => edits.size,
      all: () => [...edits].map(([place, edit]) => [place, edit.text]),
    };
  };
  try {
    const others = Object.keys(localStorage).filter((key) => key.startsWith(shelf)).map((key) => key.slice(shelf.length));
    const here = document.querySelector("[data-runs]")?.dataset.stem ?? (document.querySelector("[data-settings]") ? "settings" : "");
    const unsent = others.filter((name) => name !== here).map((name) => name === "settings" ? "Question" : name.replaceAll("_", " "));
    if (unsent.length) elsewhere = `Typed in this browser and not sent yet: ${unsent.join(", ")}. Open that page, and it is sent.`;
    if (elsewhere) saying(changed, false);
  } catch { /* no store: then nothing is kept there either */ }

  const unanswered = (answer) => answer && answer.status === 403
    ? "The pages were started anew: open the address that samesky shows now, once; then what you type here is sent."
    : answer && answer.body && answer.body.problem
      ? `Not kept on the disk: ${answer.body.problem} What you typed is kept in this browser, and tried again.`
      : "The pages do not answer: is `samesky worksheet` still running? What you type is kept in this browser, and sent when they answer.";

  window.addEventListener("beforeunload", (event) => { if (trouble) event.preventDefault(); });

  // Leaving the page waits until what is typed is sent: what is shown or saved next rests on all of it.
  let leaving = false;
  const leave = (event, go) => {
    if (leaving || event.defaultPrevented) return;
    const waits = settled();
    if (waits === true) return;
    event.preventDefault();
    waits.then((done) => { if (done) { leaving = true; go(); leaving = false; } });
  };
  document.addEventListener("submit", (event) => leave(event, () => event.target.requestSubmit(event.submitter)));
  document.addEventListener("click", (event) => {
    const link = event.target.closest("a[href]");
    if (!link || event.button || event.ctrlKey || event.metaKey || event.shiftKey || link.target || link.getAttribute("href").startsWith("#")) return;
    leave(event, () => { location.href = link.href; });
  });

  // ---- the table of runs --------------------------------------------------------------------------------------
  const work = document.querySelector("[data-runs]");
  if (work) {
    const where = `${base}/runs/${encodeURIComponent(work.dataset.stem)}`;
    const body = work.querySelector("tbody"), says = work.querySelector("[data-cell-says]");
    const conflict = work.querySelector("[data-conflict]");
    let state = JSON.parse(document.querySelector("[data-state]").textContent);
    let seen = state.rows.map((row) => [...row]);
    // Typed and not to be sent as it stands: place, and why.
    const edits = pending(work.dataset.stem), held = new Map();
    // Rows that another page changed, and their cells there: each is asked about.
    const asked = new Map();
    let sending = false, again = 0, soon = 0, key = 0;

    const cell = (row, column) => body.querySelector(`[data-r="${row}"][data-c="${column}"]`);
    const width = state.header.length;
    const blank = () => Array(width).fill("");

    const number = (row) => state.numbers[row] ?? state.numbers.at(-1) + 1 + row - state.numbers.length;

    const addRow = () => {
      const row = body.rows.length, copy = body.rows[row - 1].cloneNode(true);
      copy.dataset.row = row;
      copy.className = "";
      copy.querySelector("[data-nr]").textContent = number(row);
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
      [...body.rows].forEach((one, row) => { one.querySelector("[data-nr]").textContent = number(row); one.querySelector("[data-delete]").hidden = !seen[row].some(Boolean); });
      [...body.rows].forEach((one, row) => one.classList.toggle("unflown", state.unflown.includes(row)));
      work.querySelector("[data-next-run]").setAttribute("href", `#row-${state.next + 1}`);
      marks();
      fold();
    };

    // On a phone a finished run is a line that opens at a touch, and of the empty rows only the next is there.
    const narrow = window.matchMedia("(max-width: 700px)"), opened = new Set();
    const names = state.header.map((cell) => cell.replace(/\s*\[.*/, ""));
    const glance = [...names.keys()].filter((column) => ["run", "clock", "configuration"].includes(names[column])
      || (body.rows[0].cells[column + 1].classList.contains("needs") && names[column] !== "date"));
    const alike = /^(oat|qnh|pressure altitude|dew point|fuel|headwind|gust|crosswind|runway|date|pilot)$/;
    // A table without a reading that is always needed has no finished rows.
    const folds = glance.some((column) => !["run", "clock", "configuration"].includes(names[column]));
    const full = (row) => Boolean((folds && glance.every((column) => seen[row][column])) || seen[row][names.indexOf("exclude")]);
    const fold = () => [...body.rows].forEach((one, row) => {
      const some = (seen[row] || []).some(Boolean), button = one.querySelector("[data-fold]"), busy = one.contains(document.activeElement);
      const waits = Boolean(inRow(row).length || one.querySelector(".wrong"));
      const done = some && !state.unflown.includes(row) && full(row) && !waits && !busy;
      one.classList.toggle("folded", narrow.matches && done && !opened.has(row));
      one.classList.toggle("spare", narrow.matches && !some && row > state.next && !busy && !inRow(row).length);
      button.hidden = !narrow.matches || !done;
      button.setAttribute("aria-expanded", String(!one.classList.contains("folded")));
      const units = glance.map((column) => (state.header[column].match(/\[(.*)\]/) || ["", ""])[1]);
      const said = () => glance.map((column, k) => `${names[column] === "run" ? "Run " : ""}${seen[row][column]} ${units[k]}`.trim());
      const doubt = one.querySelector(".doubtful") ? ["a warning"] : [];
      button.textContent = done ? [...said(), ...doubt].join(" \u00b7 ") : "Open";
      one.querySelector("[data-same]").hidden = !narrow.matches || done || !row || !(seen[row - 1] || []).some(Boolean);
    });
    narrow.addEventListener("change", () => fold());
    body.addEventListener("click", (event) => {
      const one = event.target.closest("tr");
      if (event.target.closest("[data-fold]")) {
        const row = Number(one.dataset.row);
        opened.has(row) ? opened.delete(row) : opened.add(row);
        fold();
      }
      if (event.target.closest("[data-same]")) {
        const row = Number(one.dataset.row);
        names.forEach((name, column) => {
          const field = cell(row, column), before = seen[row - 1][column];
          if (alike.test(name) && before && !field.value) { put(field, before); typed(field, false); }
        });
      }
    });

    const put = (field, text) => {
      if (field.tagName === "SELECT" && ![...field.options].some((one) => one.value === text)) field.add(new Option(text, text));
      field.value = text;
    };

    const inRow = (row) => edits.all().filter(([place]) => place.startsWith(`${row}:`));
    const saw = (row, cells) => inRow(row).forEach(([place, text]) => edits.set(place, text, cells));
    const tellHeld = () => {
      stuck = held.size ? `Not kept: ${[...held.values()][0]} What you typed stands in its cell, and in this browser.` : "";
      saying(changed, edits.size() > held.size);
    };

    const flush = async () => {
      if (sending) return;
      const place = edits.first(held);
      if (place === undefined) { tellHeld(); return; }
      sending = true;
      clearTimeout(again);
      const [row, column] = place.split(":").map(Number), text = edits.get(place), was = edits.seen(place) || seen[row] || blank();
      saying(changed, true);
      let answer;
      try {
        answer = await json(`${where}/cell`, { row, column, text, seen: was });
      } catch { answer = null; }
      sending = false;
      if (answer && answer.status === 200) {
        trouble = "";
        if (edits.get(place) === text) edits.drop(place);
        state = answer.body;
        saw(row, state.rows[row] || blank());
        const field = cell(row, column);
        if (field) {
          field.dataset.said = state.said || "";
          if (edits.get(place) === undefined) put(field, state.rows[row] ? state.rows[row][column] : "");
        }
        show(state);
        redraw();
        if (state.said) { says.classList.remove("wrong"); says.textContent = state.said; }
      } else if (answer && answer.status === 409) {
        trouble = "";
        changed = answer.body.changed;
        // Perhaps sent by this browser just before the page was loaded again: nobody else's.
        if (!mine(row, was, answer.body.cells)) ask(row, answer.body.cells);
        redraw();
      } else if (answer && answer.status !== 403 && answer.status < 500) {
        trouble = "";
        held.set(place, answer.body.problem);
        says.classList.add("wrong");
        says.textContent = answer.body.problem;
      } else {
        trouble = unanswered(answer);
        saying(changed, false);
        // Another one goes first next time: what cannot be kept must not stop the rest.
        edits.later(place);
        again = setTimeout(flush, 2000);
        return;
      }
      tellHeld();
      flush();
    };

    const settle = async () => {
      for (let tries = 0; tries < 300; tries += 1) {
        if (trouble || edits.size() <= held.size) break;
        flush();
        await new Promise((go) => setTimeout(go, 50));
      }
      return !trouble && edits.size() <= held.size;
    };
    settled = () => edits.size() <= held.size && !sending ? true : settle();

    const mine = (row, was, cells) => {
      const other = cells.map((text, column) => column).filter((column) => cells[column] !== was[column]);
      if (!other.every((column) => edits.get(`${row}:${column}`) === cells[column])) return false;
      other.forEach((column) => edits.drop(`${row}:${column}`));
      took(row, cells);
      return true;
    };

    const took = (row, cells) => {
      while (state.rows.length <= row) state.rows.push(blank());
      state.rows[row] = [...cells];
      saw(row, cells);
    };

    const ask = (row, cells) => {
      inRow(row).forEach(([place, text]) => {
        if (text === cells[Number(place.split(":")[1])]) { edits.drop(place); held.delete(place); }
        else held.set(place, "the row was changed on another page; choose below the table.");
      });
      asked.set(row, cells);
      question();
    };

    // One row at a time; the focus comes here when the typing pauses, so that no key meant for a cell decides.
    const question = () => {
      const [row, cells] = [...asked].find(([one]) => inRow(one).length) || [];
      if (row === undefined) { asked.forEach((cells, one) => took(one, cells)); asked.clear(); conflict.hidden = true; return; }
      const words = document.createElement("p"), list = document.createElement("ul");
      words.textContent = `Row ${number(row)} was changed on another page while you typed in it.`;
      inRow(row).forEach(([place, text]) => {
        const column = Number(place.split(":")[1]), line = document.createElement("li");
        line.textContent = `${state.header[column]}: you typed “${text}”, there it is “${cells[column] ?? ""}” now.`;
        list.append(line);
      });
      const write = document.createElement("button"), leave = document.createElement("button");
      write.type = leave.type = "button";
      write.textContent = "Write mine";
      leave.textContent = "Leave theirs";
      leave.className = "plain";
      const done = (keep) => {
        const places = inRow(row);
        places.forEach(([place]) => { held.delete(place); if (!keep) edits.drop(place); });
        took(row, cells);
        asked.delete(row);
        const back = places.length ? cell(row, places[0][0].split(":")[1]) : null;
        redraw();
        question();
        tellHeld();
        flush();
        if (conflict.hidden && back) back.focus();
      };
      write.addEventListener("click", () => done(true));
      leave.addEventListener("click", () => done(false));
      conflict.replaceChildren(words, list, write, " ", leave);
      if (conflict.hidden || !conflict.contains(document.activeElement)) {
        conflict.hidden = false;
        const come = () => {
          if (conflict.hidden || conflict.contains(document.activeElement)) return;
          Date.now() - key > 1000 ? conflict.focus() : setTimeout(come, 200);
        };
        come();
      }
    };

    const typed = (field, now) => {
      const row = Number(field.dataset.r), column = Number(field.dataset.c), place = `${row}:${column}`;
      if (field.value === seen[row]?.[column]) {
        if (edits.get(place) === undefined) return;
        if (!sending) { edits.drop(place); held.delete(place); field.closest("td").classList.remove("waiting"); if (asked.size) question(); tellHeld(); return; }
      }
      // Left as it was when it was asked about: nothing new to send.
      if (held.has(place) && edits.get(place) === field.value) return;
      delete field.dataset.said;
      // What the row was when its first cell was typed into, wherever the page is by the time it is sent.
      const [first] = inRow(row);
      edits.set(place, field.value, first ? edits.seen(first[0]) : [...(seen[row] || blank())]);
      held.delete(place);
      field.closest("td").classList.add("waiting");
      if (row >= body.rows.length - 1) addRow(), seen.push(blank());
      clearTimeout(soon);
      if (now) flush(); else soon = setTimeout(flush, 250);
    };
    body.addEventListener("input", (event) => { key = Date.now(); typed(event.target, false); });
    body.addEventListener("change", (event) => typed(event.target, true));
    body.addEventListener("focusin", (event) => { key = Date.now(); tell(event.target); });

    body.addEventListener("keydown", (event) => {
      const field = event.target;
      key = Date.now();
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
    // What was typed while this script was still on its way.
    body.querySelectorAll("[data-r]").forEach((field) => {
      if (edits.get(`${field.dataset.r}:${field.dataset.c}`) === undefined && field.value !== seen[field.dataset.r]?.[field.dataset.c]) typed(field, false);
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
    // A link to a table opens it, and what it is folded into.
    const come = () => {
      let one = location.hash.length > 1 ? document.getElementById(decodeURIComponent(location.hash.slice(1))) : null;
      const place = one;
      for (; one; one = one.parentElement) if (one.tagName === "DETAILS") one.open = true;
      if (place) place.scrollIntoView();
    };
    window.addEventListener("hashchange", come);
    come();
    const edits = pending("settings");
    // Typed and not to be sent as it stands: changed elsewhere, and asked about; or no value of its kind, and why.
    const held = new Map(), refused = new Map();
    // What this page has sent of an entry: found there later, it is nobody else's.
    const own = new Map();
    let sending = false, again = 0, soon = 0, lacking = false;
    settled = () => edits.size() <= held.size && !sending ? true : settle();
    const settle = async () => {
      for (let tries = 0; tries < 300 && !trouble && (edits.size() > held.size || sending); tries += 1) {
        flush();
        await new Promise((go) => setTimeout(go, 50));
      }
      return !trouble && edits.size() <= held.size;
    };
    const entries = () => [...settings.querySelectorAll("[data-entry]")];
    const key = (one) => `${one.closest("[data-group]").dataset.group}\n${one.dataset.entry}`;
    const field = (place) => entries().find((one) => key(one) === place);
    const part = (one, name) => one.closest(".entry").querySelector(`[data-${name}]`);
    const wrong = (pairs) => {
      const by = new Map(pairs);
      entries().forEach((input) => {
        const text = refused.get(key(input))?.why || by.get(input.closest(".entry").dataset.key) || "", place = part(input, "wrong");
        if (place.textContent !== text) place.textContent = text;
        text ? input.setAttribute("aria-invalid", "true") : input.removeAttribute("aria-invalid");
      });
    };
    const put = (input, text) => {
      if (input.tagName === "SELECT" && ![...input.options].some((one) => one.value === text)) input.add(new Option(text, text));
      input.value = text;
    };
    // What the pages keep of every entry goes into its field, but for what is typed there and not kept yet.
    const redraw = (state) => {
      const there = new Map(state.entries), on = new Set(state.on);
      entries().forEach((input) => {
        const text = there.get(input.closest(".entry").dataset.key) ?? "", seen = part(input, "seen"), place = key(input);
        const untouched = input.value === seen.value || document.activeElement !== input;
        seen.value = text;
        if (edits.get(place) === undefined && !refused.has(place) && untouched && input.value !== text) put(input, text);
      });
      settings.querySelectorAll("[data-group]").forEach((form) => {
        const group = form.closest(".group"), used = on.has(form.dataset.group);
        group.querySelectorAll("[data-unused]").forEach((one) => { one.hidden = used; });
        group.querySelectorAll("[data-remove]").forEach((one) => { one.hidden = !used; });
      });
      // A table added elsewhere, say: the page is loaded again as soon as nobody types in it.
      const here = new Set([...settings.querySelectorAll("[data-group]")].map((form) => form.dataset.group));
      lacking = !document.querySelector("[data-plan]") && state.shown.some((path) => !here.has(path));
    };
    const tellHeld = () => {
      const [place] = held.keys(), input = place === undefined ? null : field(place);
      const label = input ? input.closest(".entry").querySelector("label").textContent : "";
      stuck = input ? `Not kept: ${label} was changed on another page as well. Both are shown there; choose one.` : "";
      saying(changed, edits.size() > held.size);
    };
    // Both are shown under the entry, and the person chooses; the focus stays where it is.
    const question = (place) => {
      const input = field(place);
      if (!input) return;
      const box = part(input, "conflict"), there = held.get(place);
      if (there === undefined) { box.hidden = true; box.replaceChildren(); return; }
      const shown = (one) => one ? `“${input.tagName === "SELECT" ? [...input.options].find((option) => option.value === one)?.text ?? one : one}”` : "nothing";
      const words = `Changed on another page while you typed: you typed ${shown(edits.get(place))}, there it is ${shown(there)} now.`;
      // The buttons stay the same while somebody types on: one that is replaced under the finger is never pressed.
      if (box.hidden) {
        const said = document.createElement("p"), write = document.createElement("button"), leave = document.createElement("button");
        write.type = leave.type = "button";
        write.textContent = "Write mine";
        leave.textContent = "Leave theirs";
        leave.className = "plain";
        write.addEventListener("click", () => { edits.set(place, edits.get(place), held.get(place)); decided(place, input); });
        leave.addEventListener("click", () => { edits.drop(place); put(input, held.get(place)); decided(place, input); });
        box.replaceChildren(said, write, " ", leave);
        box.hidden = false;
      }
      if (box.firstChild.textContent !== words) box.firstChild.textContent = words;
    };
    const decided = (place, input) => {
      held.delete(place);
      question(place);
      tellHeld();
      flush();
      input.focus();
    };
    const flush = async () => {
      if (sending) return;
      const place = edits.first(held);
      if (place === undefined) { tellHeld(); return; }
      sending = true;
      clearTimeout(again);
      saying(changed, true);
      const [path, name] = place.split("\n"), text = edits.get(place), seen = edits.seen(place) ?? "";
      own.set(place, (own.get(place) ?? new Set()).add(text));
      let answer = null;
      try { answer = await json(`${base}/settings/entry`, { path, name, text, seen }); } catch { answer = null; }
      sending = false;
      const input = field(place);
      if (answer && answer.status === 200) {
        trouble = "";
        refused.delete(place);
        own.delete(place);
        const kept = new Map(answer.body.entries).get(input?.closest(".entry").dataset.key) ?? "";
        if (edits.get(place) === text) edits.drop(place); else edits.set(place, edits.get(place), kept);
        show(answer.body);
        redraw(answer.body);
        wrong(answer.body.wrong);
      } else if (answer && answer.status === 409) {
        trouble = "";
        show(answer.body);
        redraw(answer.body);
        wrong(answer.body.wrong);
        // Perhaps sent by this page, and its answer lost on the way: nobody else's.
        if (own.get(place).has(answer.body.there)) edits.set(place, edits.get(place), answer.body.there);
        else if (edits.get(place) === answer.body.there) edits.drop(place);
        else { own.delete(place); held.set(place, answer.body.there); question(place); }
      } else if (answer && answer.status === 422) {
        trouble = "";
        // What was typed is no value of its kind: it stays in the field, with what is wrong with it.
        if (edits.get(place) === text) {
          edits.drop(place);
          refused.set(place, { why: answer.body.problem });
          if (input) { input.setAttribute("aria-invalid", "true"); part(input, "wrong").textContent = answer.body.problem; }
        }
      } else {
        trouble = unanswered(answer);
        saying(changed, false);
        edits.later(place);
        again = setTimeout(flush, 2000);
        return;
      }
      flush();
    };
    const typed = (event) => {
      const input = event.target;
      if (input.dataset.entry === undefined) return;
      const place = key(input), seen = part(input, "seen").value;
      refused.delete(place);
      if (edits.get(place) === undefined && input.value === seen) return;
      if (held.has(place) && input.value === held.get(place)) { edits.drop(place); held.delete(place); }
      // What the entry was when typing into it began, wherever the page is by the time it is sent.
      else if (edits.get(place) !== input.value) edits.set(place, input.value, edits.get(place) === undefined ? seen : edits.seen(place));
      question(place);
      clearTimeout(soon);
      event.type === "change" ? flush() : soon = setTimeout(flush, 400);
    };
    settings.addEventListener("input", typed);
    settings.addEventListener("change", typed);
    settings.addEventListener("keydown", (event) => { if (event.key === "Enter" && event.target.dataset.entry !== undefined) event.preventDefault(); });
    edits.all().forEach(([place, text]) => { const one = field(place); if (one) put(one, text); else edits.drop(place); });
    // What was typed while this script was still on its way.
    entries().forEach((input) => { if (input.value !== part(input, "seen").value) typed({ type: "input", target: input }); });
    flush();

    setInterval(async () => {
      if (document.hidden || sending || edits.size() > held.size) return;
      if (lacking && !edits.size() && !refused.size && !settings.contains(document.activeElement)) { location.reload(); return; }
      try {
        const answer = await json(`${base}/settings/state?version=${version}`);
        if (trouble) { trouble = ""; saying(changed, false); }
        if (answer.status !== 200 || sending || edits.size() > held.size) return;
        show(answer.body);
        redraw(answer.body);
        // The page of the plan marks what is wrong for the plan as well.
        if (!document.querySelector("[data-plan]")) wrong(answer.body.wrong);
        saying(changed, false);
      } catch { /* the next typing says so */ }
    }, 3000);
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

  document.body.dataset.ready = "";
})();
