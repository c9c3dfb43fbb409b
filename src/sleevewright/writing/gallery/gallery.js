
"use strict";
(() => {
  const SVG = "http://www.w3.org/2000/svg";
  const STATES = ["held", "noted", "fell short", "failed"];
  const STATE_WORDS = ["Held", "Noted", "Fell short", "Failed"];
  const STATE_MARKS = ["M2 8.5l4 4 8-9", "M8 1.5a6.5 6.5 0 1 0 .01 0M8 7v5M8 4v.5", "M8 2l7 12H1zM8 6v4M8 11.5v1", "M3 3l10 10M13 3L3 13"];
  const FACETS = [["family", "Family"], ["block", "Block"], ["size", "Size"], ["state", "State"]];
  const LETTERS = ["XXXS", "XXS", "XS", "S", "M", "L", "XL", "XXL", "XXXL"];
  const LEAST = 0.02;         // mm: smaller differences are rounding
  const MOST_PRINTED = 400;
  const IN_A_LINE = 4;        // links of files that the narrowest card has room for side by side
  const COLLATOR = new Intl.Collator("en", { numeric: true });
  const WHOLE = new Intl.NumberFormat("en");

  const all = [];             // every entry, in the order of keys
  const byKey = new Map();
  let shown = [];             // entries that pass the filters, sorted
  let missing = 0;            // data files that did not load
  const view = fresh();
  const at = (id) => document.getElementById(id);

  // Errors of scripts that are loaded do not bubble; this runs before any of them.
  addEventListener("error", (event) => { if (event.target instanceof HTMLScriptElement) missing += 1; }, true);

  function fresh() {
    return { family: new Set(), block: new Set(), size: new Set(), state: new Set(), q: "", sort: "", desc: false, look: "", a: "", b: "", pair: false };
  }

  // --- making nodes: text is only ever set as text ---

  function el(name, attributes, ...children) {
    const node = document.createElement(name);
    for (const [key, value] of Object.entries(attributes || {})) {
      if (value === true) node.setAttribute(key, "");
      else if (value !== false && value !== null && value !== undefined) node.setAttribute(key, value);
    }
    node.append(...children);
    return node;
  }

  function draw(name, attributes, ...children) {
    const node = document.createElementNS(SVG, name);
    for (const [key, value] of Object.entries(attributes)) node.setAttribute(key, value);
    node.append(...children);
    return node;
  }

  const icon = (d) => draw("svg", { viewBox: "0 0 16 16", "aria-hidden": "true" }, draw("path", { d }));
  const CROSS = "M4 4l8 8M12 4l-8 8";

  // --- data ---

  function load(chunk) {
    const columns = chunk.columns.map((numbers) => {
      const names = numbers.map((number) => chunk.names[number]);
      return { names, places: new Map(names.map((name, place) => [name, place])) };
    });
    for (const row of chunk.rows) {
      const [key, block, recipe, family, size, settings, state, problem, column, values, links, drawn] = row;
      const entry = {
        key, block, recipe, family, size, settings, state: STATES[state], grade: state, problem,
        column: columns[column], values, links,
        pieces: drawn.map(([name, shape, x, y]) => ({ name: chunk.names[name], shape: chunk.shapes[shape], x, y })),
        number: all.length, text: "",
      };
      entry.text = [key, family, problem, ...settings.flat()].join("\n").toLowerCase();
      all.push(entry);
      byKey.set(key, entry);
    }
  }

  function figure(entry, name) {
    const place = entry.column.places.get(name);
    return place === undefined ? undefined : entry.values[place];
  }

  const labels = new Map();
  function label(name) {
    let found = labels.get(name);
    if (!found) {
      let unit = "mm", text = name, digits = 2;
      for (const [ending, its, places] of [["_mm2", "mm²", 0], ["_mm", "mm", 2], ["_deg", "°", 1], ["_ratio", "", 3]]) {
        if (name.endsWith(ending)) { text = name.slice(0, -ending.length); unit = its; digits = places; break; }
      }
      found = { text: text.replaceAll("_", " ").replaceAll(".", ": "), unit, digits };
      labels.set(name, found);
    }
    return found;
  }

  const plain = (value, digits) => value.toFixed(digits).replace("-", "−");
  function withUnit(value, name, digits) {
    const { unit, digits: usual } = label(name);
    const number = plain(value, digits === undefined ? usual : Math.min(digits, usual));
    return unit === "°" ? `${number}°` : unit ? `${number} ${unit}` : number;
  }

  function sizeOrder(a, b) {
    const ranks = [a, b].map((size) => LETTERS.indexOf(size.toUpperCase().replace(/^(\d)XL$/, (_, n) => "X".repeat(+n) + "L").replace(/^(\d)XS$/, (_, n) => "X".repeat(+n) + "S")));
    if (ranks[0] >= 0 && ranks[1] >= 0) return ranks[0] - ranks[1];
    if ((ranks[0] >= 0) !== (ranks[1] >= 0)) return ranks[0] >= 0 ? -1 : 1;
    return COLLATOR.compare(a, b);
  }

  // --- filters and order ---

  const options = new Map();  // facet -> Map(value -> {input, count, row})

  function makeFacets() {
    const form = at("facets");
    for (const [facet, title] of FACETS) {
      const values = [...new Set(all.map((entry) => entry[facet]))];
      values.sort(facet === "size" ? sizeOrder : facet === "state" ? (a, b) => STATES.indexOf(a) - STATES.indexOf(b) : COLLATOR.compare);
      const made = new Map();
      const box = el("div", { class: "options" });
      values.forEach((value, number) => {
        const word = facet === "state" ? STATE_WORDS[STATES.indexOf(value)] : value || "none named";
        const input = el("input", { type: "checkbox", id: `${facet}-${number}` });
        const count = el("span", { class: "count" });
        const row = el("label", { class: "option", for: input.id }, input, el("span", { class: "name" }, word), count);
        input.addEventListener("change", () => {
          if (input.checked) view[facet].add(value); else view[facet].delete(value);
          changed();
        });
        made.set(value, { input, count, row, word });
        box.append(row);
      });
      options.set(facet, made);
      form.append(el("fieldset", { class: `facet-${facet}` }, el("legend", {}, title), box));
    }
    form.addEventListener("submit", (event) => event.preventDefault());
  }

  function makeSort() {
    const names = [...new Set(all.flatMap((entry) => entry.column.names))];
    names.sort((a, b) => COLLATOR.compare(label(a).text, label(b).text));
    const select = at("sort");
    for (const [value, text] of [["", "Name"], ["size", "Size"], ["state", "State"]]) select.append(el("option", { value }, text));
    const group = el("optgroup", { label: "Measurements" });
    for (const name of names) {
      const { text, unit } = label(name);
      group.append(el("option", { value: `m:${name}` }, unit === "mm" || !unit ? text : `${text}, ${unit}`));
    }
    if (names.length) select.append(group);
  }

  function filtered() {
    const words = view.q.toLowerCase().split(/\s+/).filter(Boolean);
    const counts = new Map(FACETS.map(([facet]) => [facet, new Map()]));
    const found = [];
    for (const entry of all) {
      if (!words.every((word) => entry.text.includes(word))) continue;
      const out = FACETS.filter(([facet]) => view[facet].size && !view[facet].has(entry[facet]));
      if (!out.length) found.push(entry);
      for (const [facet] of FACETS) {
        // A number says how many there would be: its own facet does not count.
        if (!out.length || (out.length === 1 && out[0][0] === facet)) {
          const its = counts.get(facet);
          its.set(entry[facet], (its.get(entry[facet]) || 0) + 1);
        }
      }
    }
    for (const [facet, made] of options) {
      for (const [value, { input, count }] of made) {
        count.textContent = WHOLE.format(counts.get(facet).get(value) || 0);
        input.checked = view[facet].has(value);
      }
    }
    return found;
  }

  function ordered(entries) {
    const sign = view.desc ? -1 : 1;
    let order = (a, b) => a.number - b.number;
    if (view.sort === "size") order = (a, b) => sizeOrder(a.size, b.size);
    if (view.sort === "state") order = (a, b) => a.grade - b.grade;
    if (view.sort.startsWith("m:")) {
      const name = view.sort.slice(2);
      const known = entries.filter((entry) => figure(entry, name) !== undefined);
      const rest = entries.filter((entry) => figure(entry, name) === undefined);
      known.sort((a, b) => sign * (figure(a, name) - figure(b, name)) || a.number - b.number);
      return known.concat(rest);  // what has no such measurement comes last, either way
    }
    return entries.sort((a, b) => sign * order(a, b) || a.number - b.number);
  }

  function changed() {
    write();
    refresh();
    const top = at("bar").getBoundingClientRect().height;
    const begin = at("main").getBoundingClientRect().top;
    if (begin < 0) scrollBy(0, begin - top);
  }

  function refresh() {
    shown = ordered(filtered());
    const total = WHOLE.format(all.length);
    at("found").textContent = shown.length === all.length ? `${total} variants` : `${WHOLE.format(shown.length)} of ${total} variants`;
    const chosen = FACETS.reduce((sum, [facet]) => sum + view[facet].size, 0);
    at("filtercount").textContent = chosen ? `(${chosen})` : "";
    at("clear").hidden = !chosen && !view.q;
    at("nothing").hidden = shown.length > 0;
    at("list").hidden = shown.length === 0;
    if (at("search").value !== view.q) at("search").value = view.q;
    at("sort").value = view.sort;
    at("way").setAttribute("aria-pressed", String(view.desc));
    for (const node of live.values()) node.remove();
    live.clear();
    measure();
    tray();
  }

  function clearAll() {
    for (const [facet] of FACETS) view[facet].clear();
    view.q = "";
    changed();
    at("search").focus();
  }

  // --- the address keeps what is seen ---

  function write(step) {
    const words = new URLSearchParams();
    for (const [facet] of FACETS) for (const value of view[facet]) words.append(facet, value);
    for (const name of ["q", "sort", "look", "a", "b"]) if (view[name]) words.set(name, view[name]);
    if (view.desc) words.set("desc", "1");
    if (view.pair) words.set("pair", "1");
    const hash = `#${words}`;
    if (hash === location.hash || (hash === "#" && !location.hash)) return;
    history[step ? "pushState" : "replaceState"](null, "", hash);
  }

  function read() {
    const words = new URLSearchParams(location.hash.slice(1));
    Object.assign(view, fresh());
    for (const [facet] of FACETS) for (const value of words.getAll(facet)) if (options.get(facet).has(value)) view[facet].add(value);
    view.q = words.get("q") || "";
    const sort = words.get("sort") || "";
    view.sort = [...at("sort").options].some((option) => option.value === sort) ? sort : "";
    view.desc = words.get("desc") === "1";
    for (const name of ["look", "a", "b"]) view[name] = byKey.has(words.get(name)) ? words.get(name) : "";
    if (view.a === view.b) view.b = "";
    view.pair = words.get("pair") === "1" && Boolean(view.a && view.b);
    refresh();
    showDialog();
  }

  // --- pictures ---

  function outline(piece, x, y) {
    const [path, fx, fy] = piece.shape;
    return `M${x + fx} ${y + fy}${path}`;
  }

  // Cells {w, h} in rows, in their order, hems level; the number of rows that shows them largest.
  function arrange(cells, aspect, gap) {
    let best = null;
    const total = cells.reduce((sum, cell) => sum + cell.w + gap, 0);
    for (let rows = 1; rows <= Math.min(cells.length, 5); rows += 1) {
      const lines = [[]];
      let run = 0;
      for (const cell of cells) {
        if (run + (cell.w + gap) / 2 > (total / rows) * lines.length && lines.at(-1).length && lines.length < rows) lines.push([]);
        lines.at(-1).push(cell);
        run += cell.w + gap;
      }
      const widths = lines.map((line) => line.reduce((sum, cell) => sum + cell.w + gap, -gap));
      const heights = lines.map((line) => Math.max(...line.map((cell) => cell.h)));
      const width = Math.max(...widths), height = heights.reduce((sum, h) => sum + h + gap, -gap);
      const scale = Math.min(aspect / width, 1 / height);
      if (!best || scale > best.scale) best = { lines, widths, heights, width, height, scale };
    }
    let y = 0;
    best.lines.forEach((line, number) => {
      let x = (best.width - best.widths[number]) / 2;
      for (const cell of line) {
        cell.x = Math.round(x);
        cell.y = Math.round(y + best.heights[number] - cell.h);
        x += cell.w + gap;
      }
      y += best.heights[number] + gap;
    });
    return best;
  }

  function thumbnail(entry) {
    if (!entry.pieces.length) return el("span", { class: "blank", "aria-hidden": "true" }, entry.grade === 3 ? "not made" : "no outline kept");
    const cells = entry.pieces.map((piece) => ({ piece, w: piece.shape[3] || 1, h: piece.shape[4] || 1 }));
    const { width, height } = arrange(cells, 1.5, 30);
    const d = cells.map((cell) => outline(cell.piece, cell.x, cell.y)).join("");
    return draw("svg", { class: "thumb", viewBox: `-4 -4 ${width + 8} ${height + 8}`, "aria-hidden": "true" }, draw("path", { d }));
  }

  function grouped(entry) {
    const groups = new Map();
    for (const piece of entry.pieces) {
      if (!groups.has(piece.name)) groups.set(piece.name, []);
      groups.get(piece.name).push(piece);
    }
    return groups;
  }

  const EMPTY = { left: Infinity, top: Infinity, right: -Infinity, bottom: -Infinity };
  function around(pieces, shift = [0, 0], start = EMPTY) {
    const box = { ...start };
    for (const { x, y, shape } of pieces) {
      box.left = Math.min(box.left, x + shift[0]); box.right = Math.max(box.right, x + shape[3] + shift[0]);
      box.top = Math.min(box.top, y + shift[1]); box.bottom = Math.max(box.bottom, y + shape[4] + shift[1]);
    }
    return box;
  }

  function points(pieces) {
    const found = [];
    for (const { x, y, shape } of pieces) {
      const steps = (shape[0].match(/-?\d+/g) || []).map(Number);
      let [px, py] = [x + shape[1], y + shape[2]];
      const first = [px, py];
      const walk = (qx, qy) => {
        const count = Math.max(1, Math.round(Math.hypot(qx - px, qy - py) / 12));
        for (let i = 0; i < count; i += 1) found.push([px + ((qx - px) * i) / count, py + ((qy - py) * i) / count]);
        [px, py] = [qx, qy];
      };
      for (let i = 0; i < steps.length; i += 2) walk(px + steps[i], py + steps[i + 1]);
      walk(...first);
    }
    return found;
  }

  // Where B is laid on A without turning: as drawn, by a corner or by the middle, whichever agrees best.
  function laying(a, b) {
    const [boxA, boxB] = [around(a), around(b)];
    const tries = [[0, 0]];
    for (const h of ["left", "right"]) for (const v of ["top", "bottom"]) tries.push([boxA[h] - boxB[h], boxA[v] - boxB[v]]);
    tries.push([(boxA.left + boxA.right - boxB.left - boxB.right) / 2, (boxA.top + boxA.bottom - boxB.top - boxB.bottom) / 2]);
    const [fixed, moving] = [points(a), points(b)];
    let best = tries[0], least = Infinity;
    for (const shift of tries) {
      const gaps = moving.map(([x, y]) => {
        let near = Infinity;
        for (const [u, v] of fixed) near = Math.min(near, (x + shift[0] - u) ** 2 + (y + shift[1] - v) ** 2);
        return Math.sqrt(near);
      }).sort((p, q) => p - q);
      const off = gaps[gaps.length >> 1] + gaps.reduce((sum, gap) => sum + gap, 0) / gaps.length / 4;
      if (off < least * 0.999) { least = off; best = shift; }
    }
    return best;
  }

  function picture(cells, aspect, title) {
    // Letters keep their size whatever the scale: the picture is shown about 560 pixels wide.
    const first = arrange(cells.map((cell) => ({ w: cell.w, h: cell.h })), aspect, 40);
    const unit = Math.max(first.width, first.height * aspect) / 560;
    for (const cell of cells) cell.h += 22 * unit;
    const { width, height } = arrange(cells, aspect, 26 * unit);
    const svg = draw("svg", { viewBox: `${-4 * unit} ${-4 * unit} ${width + 8 * unit} ${height + 8 * unit}`, role: "img", "aria-label": title });
    for (const cell of cells) {
      for (const { pieces, shift, kind } of cell.layers) {
        const d = pieces.map((p) => outline(p, p.x + shift[0] + cell.x - cell.left, p.y + shift[1] + cell.y - cell.top)).join("");
        svg.append(draw("path", { d, class: kind }));
      }
      const text = draw("text", { x: cell.x + cell.w / 2, y: cell.y + cell.h - 5 * unit, "text-anchor": "middle" }, cell.name.replaceAll("_", " "));
      text.style.fontSize = `${13 * unit}px`;
      svg.append(text);
    }
    return svg;
  }

  function cellOf(name, layers) {
    const box = layers.reduce((found, { pieces, shift }) => around(pieces, shift, found), EMPTY);
    return { name, layers, left: box.left, top: box.top, w: box.right - box.left, h: box.bottom - box.top };
  }

  function pictureOf(entry, kind = "", aspect = 1.15) {
    if (!entry.pieces.length) return el("p", { class: "blank" }, entry.grade === 3 ? "It was not made." : "No outline is kept of it.");
    const cells = [...grouped(entry)].map(([name, pieces]) => cellOf(name, [{ pieces, shift: [0, 0], kind }]));
    return picture(cells, aspect, `Pieces: ${cells.map((cell) => cell.name).join(", ")}`);
  }

  function overlay(a, b) {
    const [ofA, ofB] = [grouped(a), grouped(b)];
    const cells = [...new Set([...ofA.keys(), ...ofB.keys()])].map((name) => {
      const layers = [];
      if (ofA.has(name)) layers.push({ pieces: ofA.get(name), shift: [0, 0], kind: "lay-a" });
      if (ofB.has(name)) layers.push({ pieces: ofB.get(name), shift: ofA.has(name) ? laying(ofA.get(name), ofB.get(name)) : [0, 0], kind: "lay-b" });
      const only = layers.length > 1 ? "" : ofA.has(name) ? " (A alone)" : " (B alone)";
      return cellOf(name + only, layers);
    });
    if (!cells.length) return el("p", { class: "blank" }, "No outline is kept of either.");
    return picture(cells, 1.1, `A and B laid on one another: ${cells.map((cell) => cell.name).join(", ")}`);
  }

  // --- cards ---

  const live = new Map();     // place in `shown` -> node
  let grid = { columns: 1, width: 200, height: 300, gap: 16, top: 0 };
  const nameOf = (entry) => `size ${entry.size}, ${entry.block}`;
  const settingsOf = (entry) => entry.settings.map(([name, value]) => `${name.replaceAll("_", " ")} ${value}`).join(", ");

  function stateMark(entry) {
    return el("span", { class: `state state-${entry.grade}` }, icon(STATE_MARKS[entry.grade]), STATE_WORDS[entry.grade]);
  }

  function filesOf(entry) {
    const [start, ...rest] = entry.links;
    const box = el("div", { class: "files" });
    for (let i = 0; i < rest.length; i += 2) {
      const link = el("a", { href: start + rest[i + 1], "aria-label": `${rest[i]} of ${entry.recipe}, ${nameOf(entry)}` }, rest[i]);
      if (rest[i] === "report") box.prepend(link); else box.append(link);  // the page to read goes first
    }
    return box;
  }

  function card(entry, place) {
    const see = el("button", { type: "button", class: "see" }, thumbnail(entry), el("span", { class: "recipe" }, entry.recipe), el("span", { class: "of" }, nameOf(entry)));
    const more = el("div", { class: "more" });
    if (view.sort.startsWith("m:")) {
      const name = view.sort.slice(2), value = figure(entry, name);
      more.append(el("p", { class: "figure" }, `${label(name).text} ${value === undefined ? "not measured" : withUnit(value, name, 1)}`));
    }
    if (entry.settings.length) more.append(el("p", { title: settingsOf(entry) }, settingsOf(entry)));
    if (entry.problem) more.append(el("p", { class: "problem" }, entry.problem));
    else if (entry.family) more.append(el("p", {}, entry.family));
    const tick = el("input", { type: "checkbox" });
    tick.checked = entry.key === view.a || entry.key === view.b;
    const pick = el("label", { class: "pick" }, tick, "Compare", el("span", { class: "unseen" }, ` ${entry.recipe}, ${nameOf(entry)}`));
    const node = el("li", { class: "card", role: "listitem" }, el("h3", {}, see), more, el("div", { class: "foot" }, stateMark(entry), pick), entry.links.length > 1 ? filesOf(entry) : "");
    node.classList.toggle("chosen", tick.checked);
    if (place !== undefined) {
      node.setAttribute("aria-setsize", shown.length);
      node.setAttribute("aria-posinset", place + 1);
      node.dataset.place = place;
      see.addEventListener("click", () => openLook(entry.key));
      tick.addEventListener("change", () => choose(entry.key, tick.checked));
    }
    return node;
  }

  function measure() {
    const list = at("list"), probe = at("probe");
    const gap = parseFloat(getComputedStyle(probe).paddingRight);
    const least = probe.offsetWidth - gap, width = list.clientWidth;
    const columns = Math.max(1, Math.floor((width + gap) / (least + gap)));
    const next = { columns, gap, width: (width - gap * (columns - 1)) / columns, height: probe.offsetHeight + gap, top: list.getBoundingClientRect().top + scrollY };
    const moved = next.width !== grid.width || next.height !== grid.height || columns !== grid.columns;
    grid = next;
    list.style.height = `${Math.ceil(shown.length / columns) * grid.height}px`;
    if (moved) for (const [place, node] of live) put(node, place);
    fill();
  }

  function put(node, place) {
    const x = (place % grid.columns) * (grid.width + grid.gap), y = Math.floor(place / grid.columns) * grid.height;
    node.style.transform = `translate(${x}px, ${y}px)`;
    node.style.width = `${grid.width}px`;
  }

  function fill() {
    if (at("list").hidden) return;
    const rows = (y) => Math.floor((y - grid.top) / grid.height);
    const first = Math.max(0, (rows(scrollY) - 1) * grid.columns);
    const last = Math.min(shown.length, (rows(scrollY + innerHeight) + 2) * grid.columns);
    for (const [place, node] of live) {
      // What holds the keyboard stays, wherever it is.
      if ((place < first || place >= last) && !node.contains(document.activeElement)) {
        node.remove();
        live.delete(place);
      }
    }
    for (let place = first; place < last; place += 1) {
      if (live.has(place)) continue;
      const node = card(shown[place], place);
      put(node, place);
      let after = Infinity;
      for (const other of live.keys()) if (other > place && other < after) after = other;
      at("list").insertBefore(node, live.get(after) || null);  // keyboard and readers go in this order
      live.set(place, node);
    }
  }

  let waiting = false;
  function soon(work) {
    if (waiting) return;
    waiting = true;
    requestAnimationFrame(() => { waiting = false; work(); });
  }

  function focusCard(place) {
    const row = Math.floor(place / grid.columns) * grid.height + grid.top;
    const bar = at("bar").getBoundingClientRect().height + 8, foot = at("tray").hidden ? 0 : at("tray").offsetHeight;
    if (row < scrollY + bar) scrollTo(0, row - bar);
    else if (row + grid.height > scrollY + innerHeight - foot) scrollTo(0, row + grid.height - innerHeight + foot);
    fill();
    const node = live.get(place);
    if (node) node.querySelector(".see").focus({ preventScroll: true });
  }

  function keys(event) {
    const node = event.target.closest(".card");
    if (!node || !event.target.classList.contains("see") || event.ctrlKey || event.altKey || event.metaKey) return;
    const page = Math.max(1, Math.floor(innerHeight / grid.height)) * grid.columns;
    const steps = { ArrowLeft: -1, ArrowRight: 1, ArrowUp: -grid.columns, ArrowDown: grid.columns, PageUp: -page, PageDown: page, Home: -Infinity, End: Infinity };
    if (!(event.key in steps)) return;
    event.preventDefault();
    focusCard(Math.max(0, Math.min(shown.length - 1, Number(node.dataset.place) + steps[event.key])));
  }

  // --- two to compare ---

  function choose(key, wanted) {
    if (!wanted) {
      if (view.a === key) { view.a = view.b; view.b = ""; } else if (view.b === key) view.b = "";
    } else if (!view.a) view.a = key;
    else if (view.a !== key) view.b = key;     // the first stays, the second is replaced
    write();
    tray();
  }

  function tray() {
    const list = at("chosen");
    list.replaceChildren();
    at("tray").hidden = !view.a;
    for (const letter of ["a", "b"]) {
      const entry = byKey.get(view[letter]);
      if (!entry) { list.append(el("li", { class: "none" }, el("span", {}, "choose a second one"))); continue; }
      const drop = el("button", { type: "button", class: "plain", "aria-label": `Do not compare ${entry.recipe}, ${nameOf(entry)}` }, icon(CROSS));
      drop.addEventListener("click", () => { choose(entry.key, false); at("list").focus({ preventScroll: true }); });
      list.append(el("li", {}, el("span", {}, el("b", { class: `letter letter-${letter}` }, letter.toUpperCase()), `${entry.recipe}, ${nameOf(entry)}`), drop));
    }
    at("open").disabled = !(view.a && view.b);
    for (const [place, node] of live) {
      const its = shown[place].key === view.a || shown[place].key === view.b;
      node.classList.toggle("chosen", its);
      node.querySelector(".pick input").checked = its;
    }
  }

  // --- one variant, or two, looked at closely ---

  function openLook(key) { view.look = key; view.pair = false; write(true); showDialog(); }
  function openPair() { view.pair = true; view.look = ""; write(true); showDialog(); }

  function showDialog() {
    const dialog = at("look");
    const [a, b] = [byKey.get(view.a), byKey.get(view.b)];
    const one = byKey.get(view.look);
    if (!one && !(view.pair && a && b)) { if (dialog.open) dialog.close(); return; }
    dialog.classList.toggle("two", !one);
    dialog.replaceChildren(...(one ? lookParts(one) : pairParts(a, b)));
    if (!dialog.open) dialog.showModal();
    dialog.scrollTop = 0;
  }

  function closed() {
    const key = view.look;
    view.look = "";
    view.pair = false;
    write();
    const place = shown.findIndex((entry) => entry.key === key);
    if (place >= 0) focusCard(place);
    else if (key || document.activeElement === document.body) at("list").focus({ preventScroll: true });
  }

  function dialogHead(title, ...buttons) {
    const shut = el("button", { type: "button", class: "plain", "aria-label": "Close" }, icon(CROSS));
    shut.addEventListener("click", () => at("look").close());
    return el("div", { class: "look-head" }, el("h2", { id: "lookname" }, title), ...buttons, shut);
  }

  function facts(entry) {
    const list = el("dl", { class: "facts" });
    const add = (name, value) => { if (value) list.append(el("dt", {}, name), el("dd", {}, value)); };
    add("Block", entry.block);
    add("Size", entry.size);
    add("Family", entry.family);
    for (const [name, value] of entry.settings) add(name.replaceAll("_", " "), value);
    add("State", stateMark(entry));
    if (entry.problem) add("Findings", el("span", { class: "said" }, entry.problem));
    if (entry.links.length > 1) add("Files", filesOf(entry));
    return list;
  }

  function table(caption, heads, rows) {
    return el("table", {}, el("caption", {}, caption),
      el("thead", {}, el("tr", {}, ...heads.map((head) => el("th", { scope: "col" }, head)))),
      el("tbody", {}, ...rows));
  }

  function rowHead(name) {
    const { text, unit } = label(name);
    const cell = el("th", { scope: "row" }, text);
    if (unit && unit !== "mm") cell.append(" ", el("span", { class: "unit" }, unit === "°" ? "degrees" : unit));
    return cell;
  }

  function lookParts(entry) {
    const names = [...entry.column.names].sort((a, b) => COLLATOR.compare(label(a).text, label(b).text));
    const rows = names.map((name) => el("tr", {}, rowHead(name), el("td", {}, plain(figure(entry, name), label(name).digits))));
    const place = shown.indexOf(entry);
    const step = (by, d, word) => {
      const other = place < 0 ? undefined : shown[place + by];
      const button = el("button", { type: "button", class: "plain", "aria-label": word, disabled: !other }, icon(d));
      button.addEventListener("click", () => {
        view.look = other.key;
        write();
        showDialog();
        const again = at("look").querySelector(`[aria-label="${word}"]`);
        (again.disabled ? at("look").querySelector('[aria-label="Close"]') : again).focus();
      });
      return button;
    };
    const tick = el("input", { type: "checkbox" });
    tick.checked = entry.key === view.a || entry.key === view.b;
    tick.addEventListener("change", () => choose(entry.key, tick.checked));
    return [
      dialogHead(entry.recipe, step(-1, "M10 3L5 8l5 5", "The one before"), step(1, "M6 3l5 5-5 5", "The next one")),
      el("div", { class: "look-body" },
        el("div", { class: "picture still" }, pictureOf(entry)),
        el("div", { class: "parts" }, facts(entry),
          el("div", { class: "choices" }, el("label", {}, tick, "Compare with another")),
          rows.length ? table("Measurements in mm", ["Measurement", "mm"], rows) : "")),
    ];
  }

  function pairParts(a, b) {
    const side = (entry, letter) => el("section", { class: `side side-${letter}` },
      el("h3", {}, el("b", { class: `letter letter-${letter}` }, letter.toUpperCase()), entry.recipe), facts(entry));
    const swap = el("button", { type: "button", class: "quiet" }, "Swap A and B");
    swap.addEventListener("click", () => {
      [view.a, view.b] = [view.b, view.a];
      write(); tray(); showDialog();
      at("look").querySelector("button.quiet").focus();
    });
    const box = el("div", { class: "picture" }), key = el("p", { class: "key" });
    for (const [letter, name] of [["a", a.recipe], ["b", b.recipe]]) {
      key.append(el("span", {}, draw("svg", { viewBox: "0 0 32 8", "aria-hidden": "true" }, draw("path", { d: "M0 4h32", class: `lay-${letter}` })), `${letter.toUpperCase()}: ${name}, ${nameOf(letter === "a" ? a : b)}`));
    }
    const lay = (together) => box.replaceChildren(...(together ? [overlay(a, b)] : [pictureOf(a, "lay-a", 2), pictureOf(b, "lay-b", 2)]), key);
    const ways = [["Laid on one another", true], ["Apart", false]].map(([word, together]) => {
      const input = el("input", { type: "radio", name: "lay" });
      input.checked = together;
      input.addEventListener("change", () => lay(together));
      return el("label", {}, input, word);
    });
    lay(true);
    const every = el("input", { type: "checkbox" });
    const place = el("div", {});
    const list = () => place.replaceChildren(differences(a, b, every.checked));
    every.addEventListener("change", list);
    list();
    return [
      dialogHead("Side by side", swap),
      el("div", { class: "look-body" },
        el("div", { class: "sides" }, side(a, "a"), side(b, "b")),
        el("div", { class: "parts still" }, el("div", { class: "choices", role: "radiogroup", "aria-label": "Pieces" }, ...ways), box),
        el("div", { class: "parts" }, el("div", { class: "choices" }, el("label", {}, every, "Show equal measurements too")), place)),
    ];
  }

  function differences(a, b, every) {
    const names = [...new Set([...a.column.names, ...b.column.names])].sort((p, q) => COLLATOR.compare(label(p).text, label(q).text));
    const rows = [];
    for (const name of names) {
      const [was, is] = [figure(a, name), figure(b, name)];
      const both = was !== undefined && is !== undefined;
      const by = both ? is - was : 0, { digits } = label(name);
      // A ratio is told apart by its last digit, a length by what is more than rounding.
      const least = digits === 3 ? 0.0005 : LEAST;
      if (both && Math.abs(by) <= least && !every) continue;
      const number = (value) => (value === undefined ? "–" : plain(value, digits));
      const change = !both ? "" : Math.abs(by) <= least ? "0" : (by > 0 ? "+" : "") + plain(by, digits);
      rows.push(el("tr", {}, rowHead(name), el("td", {}, number(was)), el("td", {}, number(is)), el("td", { class: "change" }, change)));
    }
    if (!rows.length) return el("p", {}, names.length ? "All measurements are equal." : "No measurements are kept of either.");
    return table("Measurements in mm", ["Measurement", "A", "B", "B − A"], rows);
  }

  // --- paper ---

  function beforePrint() {
    if (at("look").open) { document.body.classList.add("looking"); return; }
    const some = shown.slice(0, MOST_PRINTED);
    const said = [];
    for (const [facet, title] of FACETS) if (view[facet].size) said.push(`${title}: ${[...view[facet]].map((value) => options.get(facet).get(value).word).join(", ")}`);
    if (view.q) said.push(`search: ${view.q}`);
    said.push(some.length < shown.length ? `the first ${WHOLE.format(some.length)} of ${WHOLE.format(shown.length)} variants` : `${WHOLE.format(some.length)} of ${WHOLE.format(all.length)} variants`);
    at("printed").replaceChildren(el("p", { class: "said-of" }, said.join("; ")), el("ul", {}, ...some.map((entry) => card(entry))));
    at("printed").hidden = false;
  }

  function afterPrint() {
    document.body.classList.remove("looking");
    at("printed").hidden = true;
    at("printed").replaceChildren();
  }

  // --- start ---

  addEventListener("DOMContentLoaded", () => {
    for (const chunk of self.galleryData || []) load(chunk);
    self.galleryData = [];
    document.documentElement.classList.toggle("many", all.some((entry) => entry.links.length > 1 + 2 * IN_A_LINE));
    at("list").before(el("div", { class: "probe", id: "probe", "aria-hidden": "true" }));
    if (missing) {
      at("trouble").textContent = `Some data could not be read: ${missing} of the files in gallery-data are missing or damaged, and the variants in them are not shown.`;
      at("trouble").hidden = false;
    }
    const counts = STATES.map((state) => all.filter((entry) => entry.state === state).length);
    at("summary").replaceChildren(...STATES.flatMap((state, grade) => (counts[grade] ? [el("span", {}, `${WHOLE.format(counts[grade])} ${state}`), ", "] : [])).slice(0, -1));
    makeFacets();
    makeSort();

    const wide = matchMedia("(min-width: 60.01rem)");
    const fold = () => { at("filters").open = wide.matches; };
    wide.addEventListener("change", fold);
    fold();

    at("search").addEventListener("input", () => { view.q = at("search").value; changed(); });
    at("sort").addEventListener("change", () => { view.sort = at("sort").value; changed(); });
    at("way").addEventListener("click", () => { view.desc = !view.desc; changed(); });
    at("clear").addEventListener("click", clearAll);
    at("clear2").addEventListener("click", clearAll);
    at("open").addEventListener("click", openPair);
    at("list").addEventListener("keydown", keys);
    at("look").addEventListener("close", closed);
    at("look").addEventListener("click", (event) => { if (event.target === at("look")) at("look").close(); });
    addEventListener("scroll", () => soon(fill), { passive: true });
    addEventListener("popstate", read);
    addEventListener("beforeprint", beforePrint);
    addEventListener("afterprint", afterPrint);
    new ResizeObserver(() => measure()).observe(at("main"));
    read();
  });
})();
