"use strict";
(() => {
  const about = JSON.parse(document.getElementById("data").textContent);
  const cells = about.cells, total = cells.outcome.length;
  const titles = new Map(about.titles), meanings = new Map(about.meanings);
  const by = id => document.getElementById(id);
  const grid = by("grid"), form = by("filter"), dialog = by("cells");
  const heads = [...grid.tHead.rows[0].cells].slice(1);
  const columns = heads.map(head => Number(head.dataset.phase));
  const place = new Map(columns.map((phase, column) => [phase, column]));
  const STEP = 50;

  const make = (tag, text, name) => {
    const node = document.createElement(tag);
    if (text !== undefined) node.textContent = text;
    if (name) node.className = name;
    return node;
  };
  const seconds = ticks => (ticks / 100).toFixed(2);
  const name = i => cells.missions[cells.mission[i]] + "@" + cells.onset[i] + "/" + cells.faults[cells.fault[i]];
  const command = i => about.replay + " " + name(i);

  // Which cells the filter leaves.
  const left = new Uint8Array(total).fill(1);
  const chosen = () => {
    const text = by("fault").value.trim().toLowerCase();
    const phase = Number(by("phase").value);
    const outcomes = about.outcomes.map((_, o) => form.querySelector(`[name=outcome][value="${o}"]`).checked);
    const faults = cells.faults.map(fault => fault.toLowerCase().includes(text));
    let count = 0;
    for (let i = 0; i < total; i++) {
      left[i] = faults[cells.fault[i]] && (phase < 0 || cells.phase[i] === phase) && outcomes[cells.outcome[i]] ? 1 : 0;
      count += left[i];
    }
    return count;
  };

  // The fields, counted again.
  const show = (field, counts) => {
    const list = counts.join();
    if (field.dataset.counts === list) return;
    field.dataset.counts = list;
    const all = counts.reduce((sum, n) => sum + n, 0), worst = counts.findIndex(n => n > 0);
    const seen = make("span"); seen.ariaHidden = "true";
    let words = "no cells";
    if (worst < 0) seen.textContent = "-";
    else {
      seen.append(make("b", about.letters[worst]), String(counts[worst]), make("i", "/" + all));
      const each = counts.map((n, o) => [about.outcomes[o], n]).filter(([, n]) => n > 0);
      words = `worst: ${about.outcomes[worst]}; ${each.map(pair => pair.join(" ")).join(", ")} of ${all} cells`;
    }
    field.className = worst < 0 ? "none" : "o" + worst;
    field.replaceChildren(seen, make("span", words, "sr"));
  };
  const zeros = () => columns.map(() => about.outcomes.map(() => 0));
  const count = () => {
    const rows = cells.targets.map(zeros);
    for (let i = 0; i < total; i++)
      if (left[i]) rows[cells.target[i]][place.get(cells.phase[i])][cells.outcome[i]]++;
    for (const body of grid.tBodies) {
      const sum = zeros();
      for (const row of [...body.rows].slice(1)) {
        const counts = rows[row.dataset.target];
        let any = false;
        counts.forEach((field, column) => {
          show(row.cells[column + 1], field);
          field.forEach((n, o) => { sum[column][o] += n; any ||= n > 0; });
        });
        row.hidden = !any;
      }
      sum.forEach((field, column) => show(body.rows[0].cells[column + 1], field));
      body.hidden = sum.flat().every(n => n === 0);
    }
  };
  const filter = () => {
    const cellsLeft = chosen();
    by("count").textContent = `${cellsLeft} of ${total} cells`;
    count();
    margins();
    rove(stops()[0]?.[0]);
  };

  // Keyboard: one stop in the grid, moved by arrows.
  const stop = cell => cell.querySelector("button") ?? cell;
  const stops = () => [...grid.tBodies].filter(body => !body.hidden)
    .flatMap(body => [...body.rows].filter((row, at) => !row.hidden && (at === 0 || !body.classList.contains("folded"))))
    .map(row => [...row.cells].map(stop));
  let current = null;
  const rove = (to, focus) => {
    if (current) current.tabIndex = -1;
    current = to ?? null;
    if (!current) return;
    current.tabIndex = 0;
    if (focus) { current.focus({ preventScroll: true }); current.scrollIntoView({ block: "nearest", inline: "nearest" }); }
  };
  grid.addEventListener("focusin", event => { if (event.target !== current && event.target.closest("tbody")) rove(event.target); });
  grid.addEventListener("keydown", event => {
    const rows = stops();
    const row = rows.findIndex(stopsOf => stopsOf.includes(event.target));
    if (row < 0) return;
    const column = rows[row].indexOf(event.target), last = columns.length;
    const to = {
      ArrowUp: [row - 1, column], ArrowDown: [row + 1, column], ArrowLeft: [row, column - 1], ArrowRight: [row, column + 1],
      Home: [event.ctrlKey ? 0 : row, 0], End: [event.ctrlKey ? rows.length - 1 : row, last],
      PageUp: [Math.max(0, row - 10), column], PageDown: [Math.min(rows.length - 1, row + 10), column],
    }[event.key];
    if (to) {
      event.preventDefault();
      const next = rows[to[0]]?.[to[1]];
      if (next) rove(next, true);
    } else if ((event.key === "Enter" || event.key === " ") && event.target.tagName === "TD") {
      event.preventDefault();
      open(event.target);
    }
  });
  const fold = (body, folded) => {
    body.classList.toggle("folded", folded);
    body.querySelector("button").ariaExpanded = String(!folded);
  };
  grid.addEventListener("click", event => {
    const button = event.target.closest("button"), field = event.target.closest("td");
    if (button) fold(button.closest("tbody"), button.ariaExpanded === "true");
    else if (field) { rove(field, true); open(field); }
  });
  by("fold").addEventListener("click", event => {
    const folded = event.target.textContent.startsWith("Fold");
    for (const body of grid.tBodies) fold(body, folded);
    event.target.textContent = folded ? "Unfold all families" : "Fold all families";
    rove(stops()[0]?.[0]);
  });

  // Commands that can be copied.
  const commandOf = i => {
    const line = make("p", undefined, "command");
    const copy = make("button", "Copy", "copy");
    copy.type = "button";
    line.append(make("code", command(i)), " ", copy);
    return line;
  };
  document.addEventListener("click", async event => {
    if (!event.target.matches(".copy")) return;
    const code = event.target.parentNode.querySelector("code");
    try {
      await navigator.clipboard.writeText(code.textContent);
      event.target.textContent = "Copied";
      by("said").textContent = "Command copied";
    } catch {
      getSelection().selectAllChildren(code);
      event.target.textContent = "Selected";
      by("said").textContent = "Command selected";
    }
    setTimeout(() => { event.target.textContent = "Copy"; by("said").textContent = ""; }, 2000);
  });

  // Lists that grow when asked to.
  const growing = (button, draw) => {
    let items = [], shown = 0;
    const more = () => {
      for (const item of items.slice(shown, shown + STEP)) draw(item);
      shown = Math.min(shown + STEP, items.length);
      button.hidden = shown >= items.length;
      button.textContent = `Show more (${shown} of ${items.length})`;
    };
    button.addEventListener("click", more);
    return list => { items = list; shown = 0; more(); };
  };

  // A field opened.
  const told = ids => ids.split(" ").map(id => titles.has(id) ? `${id} ${titles.get(id)}` : id).join(", ");
  const margin = (i, harm) => harm[i] >= 0 && cells.reacted[i] >= 0 ? harm[i] - cells.reacted[i] : null;
  const marginWords = (i, harm, way) => {
    if (harm[i] < 0) return `${way}: no harm`;
    const m = margin(i, harm);
    return `${way}: harm after ${seconds(harm[i])} s, ` + (m === null ? "no reaction" : `margin ${seconds(m)} s`);
  };
  const facts = i => {
    const lines = [];
    if (cells.harm[i] >= 0) lines.push(`Harm after ${seconds(cells.harm[i])} s: ${told(cells.broke[cells.hazards[i]])}`);
    if (cells.broken[i] >= 0) lines.push(`Broken after ${seconds(cells.broken[i])} s: ${told(cells.broke[cells.requirements[i]])}`);
    lines.push(cells.detected[i] >= 0 ? `Told of by ${cells.told[cells.by[i]]} after ${seconds(cells.detected[i])} s` : "Not told of");
    lines.push(cells.reacted[i] >= 0 ? `First drives otherwise after ${seconds(cells.reacted[i])} s` : "Drives as without the fault");
    lines.push(`Reaction withheld: ${marginWords(i, cells.frozen, "frozen")}; ${marginWords(i, cells.blind, "blind")}`);
    const emergency = cells.emergency[i] >= 0 ? `; stop-and-stow lasted ${seconds(cells.emergency[i])} s` : "";
    lines.push(`Ends ${about.ends[cells.end[i]]}, in ${cells.states[cells.state[i]]}${emergency}`);
    return lines;
  };
  const sign = o => {
    const node = make("span", about.letters[o], "sign o" + o);
    node.ariaHidden = "true";
    return node;
  };
  const list = growing(by("more"), i => {
    const item = make("li"), head = make("p");
    head.append(sign(cells.outcome[i]), " ", make("b", about.outcomes[cells.outcome[i]]),
      ` ${cells.faults[cells.fault[i]]}, from ${seconds(cells.onset[i])} s of ${cells.missions[cells.mission[i]]} on (${cells.phases[cells.phase[i]]}, ${cells.instants[cells.instant[i]]})`);
    item.append(head, ...facts(i).map(line => make("p", line)), commandOf(i));
    by("list").append(item);
  });
  const worstFirst = (a, b) => cells.outcome[a] - cells.outcome[b]
    || (margin(a, cells.frozen) ?? Infinity) - (margin(b, cells.frozen) ?? Infinity) || a - b;
  const open = field => {
    const row = field.parentNode, column = field.cellIndex - 1, phase = columns[column];
    const family = row.parentNode.dataset.family;
    const rows = row.classList.contains("family") ? [...row.parentNode.rows].slice(1) : [row];
    const targets = new Set(rows.map(each => Number(each.dataset.target)));
    const here = [];
    for (let i = 0; i < total; i++)
      if (left[i] && cells.phase[i] === phase && targets.has(cells.target[i])) here.push(i);
    if (!here.length) return;
    here.sort((a, b) => worstFirst(a, b) || 0);
    const target = targets.size === 1 ? cells.targets[[...targets][0]] : `${family}, all`;
    by("cells-h").textContent = `${target}, in ${cells.phases[phase]}`;
    const what = meanings.get(target);
    by("cells-about").textContent = `${what ? what + "; " : ""}${field.querySelector(".sr").textContent}, the worst first.`;
    by("list").replaceChildren();
    list(here);
    dialog.showModal();
    by("cells-h").focus();
    dialog.scrollTop = 0;
  };
  by("close").addEventListener("click", () => dialog.close());
  dialog.addEventListener("click", event => { if (event.target === dialog) dialog.close(); });
  dialog.addEventListener("close", () => current?.focus());

  // The least margins.
  const least = by("least").tBodies[0];
  const leastList = growing(by("more-margins"), i => {
    const harm = cells[by("way").value], row = make("tr"), outcome = make("td"), again = make("td");
    outcome.append(sign(cells.outcome[i]), " " + about.outcomes[cells.outcome[i]]);
    again.append(commandOf(i));
    row.append(make("td", seconds(margin(i, harm))), make("td", seconds(harm[i])), make("td", seconds(cells.reacted[i])),
      outcome, make("td", cells.phases[cells.phase[i]]), again);
    least.append(row);
  });
  const margins = () => {
    const harm = cells[by("way").value], known = [];
    for (let i = 0; i < total; i++) if (left[i] && margin(i, harm) !== null) known.push(i);
    known.sort((a, b) => margin(a, harm) - margin(b, harm) || a - b);
    by("margin-count").textContent = `${known.length} cells with a margin`;
    least.replaceChildren();
    leastList(known);
  };

  form.addEventListener("submit", event => event.preventDefault());
  form.addEventListener("input", filter);
  form.addEventListener("reset", () => setTimeout(filter));
  by("way").addEventListener("input", margins);
  filter();
})();
