// The pictures: drawn by the server, read off here under the pointer and by keyboard.

import { element } from "/dom.js";

// Numbers for reading: four significant digits.
export const number = (value) => (value === null ? "–" : String(Number(value.toPrecision(4))));

const shown = new Map();

// Shows the pictures; `hear.pick(sets, done)` hears a place chosen on the map, `hear.choose(measure)` what the map shall show,
// `hear.see(days)` which days are looked at, `hear.fault(key, days, done)` when a fault is on.
export function show(place, answer, moving, hear) {
  const keys = answer.figures.map((f) => f.key);
  for (const [key, figure] of shown) {
    // While a hand moves, the map stands as it was.
    if (!keys.includes(key) && !moving) {
      figure.root.remove();
      shown.delete(key);
    }
  }
  const order = moving ? Array.from(place.children, (child) => child.id.slice("figure-".length)) : keys;
  for (const drawn of answer.figures) {
    const i = Math.max(0, order.indexOf(drawn.key));
    let figure = shown.get(drawn.key);
    if (!figure) {
      figure = make(drawn, hear);
      shown.set(drawn.key, figure);
    }
    // Moved only where it must be: a picture that is moved loses the keyboard.
    if (place.children[i] !== figure.root) place.insertBefore(figure.root, place.children[i] ?? null);
    figure.show(drawn, answer);
  }
  const map = shown.get("map");
  if (map && !moving) offer(map, answer, hear.choose);
}

// The choice of what the map shows.
function offer(map, answer, choose) {
  const words = (m) => m.replace(/^settled\.(.*)\.(.*)$/, "$1, $2").replaceAll("_", " ");
  let select = map.root.querySelector("select");
  if (!select) {
    select = element("select", { id: "measure" });
    select.setAttribute("aria-label", "What the map shows");
    select.addEventListener("change", () => choose(select.value));
    map.caption.prepend(select);
  }
  select.replaceChildren(...answer.measures.map((m) => element("option", { value: m, textContent: words(m) })));
  select.value = answer.measure;
}

function make(drawn, hear) {
  const root = element("figure", { id: "figure-" + drawn.key });
  const area = element("div", { className: drawn.cells ? "drawn map" : "drawn" });
  const caption = element("figcaption");
  const said = element("output", { ariaLive: "off", textContent: drawn.cells ? "Point at a place to read it; take it with a click, or drag." : "" });
  const mark = element("div", { className: drawn.cells ? "here cell" : "here", hidden: true });
  const whole = element("button", { type: "button", textContent: "Whole run", hidden: true });
  whole.addEventListener("click", () => hear.see(null));
  const save = element("a", { textContent: "Save picture", href: "#", download: `${drawn.key}.svg`, className: "save" });
  save.addEventListener("click", () => {
    save.href = URL.createObjectURL(new Blob([now.svg], { type: "image/svg+xml" }));
    setTimeout(() => URL.revokeObjectURL(save.href), 10_000);
  });
  caption.append(said, whole, save);
  const values = element("details", { className: "values" }, element("summary", { textContent: "Its numbers" }));
  values.addEventListener("toggle", () => values.open && table());
  root.append(area, caption, values);
  const picked = element("div", { className: "picked", hidden: true });
  let now = drawn;
  let at = null;
  // Where a hand went down, and whether it is still down.
  let down = null;

  const scale = () => area.clientWidth / now.size[0];
  const reads = () => now.plot && (now.lines.length > 0 || now.cells);

  function show(next, answer) {
    now = next;
    area.innerHTML = next.svg;
    area.append(mark, picked, ...handles(answer));
    whole.hidden = !(timed() && document.location.hash.includes("see="));
    if (values.open) table();
    area.tabIndex = reads() ? 0 : -1;
    if (reads()) {
      // Read off by moving along it, as a slider is.
      area.setAttribute("role", "slider");
      area.setAttribute("aria-valuemin", next.plot.x[0]);
      area.setAttribute("aria-valuemax", next.plot.x[1]);
      if (at === null) area.setAttribute("aria-valuenow", next.plot.x[0]);
      area.setAttribute("aria-label", `${next.title} ${next.cells ? "Arrow keys move, Enter takes the place." : "Arrow keys read values off."}`);
    }
    if (at !== null) (now.cells ? cell(at) : time(at));
  }

  const timed = () => now.plot && now.lines.length > 0 && now.across.startsWith("days from");

  // The numbers of the picture as a table, for whoever reads rather than looks.
  function table() {
    const points = now.lines[0]?.[1] ?? [];
    const rows = now.cells
      ? now.cells.down.map((every, i) => [`every ${every} d`, ...now.cells.values[i].map(number)])
      : points.filter((_, i) => i % Math.ceil(points.length / 24) === 0).map(([x]) => [when(x), ...now.lines.map(([, line]) => number(valueAt(line, x)))]);
    if (now.bars.length) rows.push(...now.bars.map(([name, ends]) => [name, ends.map(number).join(" to ")]));
    const heads = now.cells ? ["", ...now.cells.across.map((size) => `${size} %`)] : now.bars.length ? ["", now.unit] : ["", ...now.lines.map(([name]) => `${name} ${now.unit}`)];
    const head = element("tr", {}, ...heads.map((h) => (h ? element("th", { scope: "col", textContent: h }) : element("td"))));
    const body = rows.map(([first, ...rest]) => element("tr", {}, element("th", { scope: "row", textContent: first }), ...rest.map((v) => element("td", { textContent: v }))));
    const made = rows.length ? element("div", { className: "wide", tabIndex: 0 }, element("table", {}, element("thead", {}, head), element("tbody", {}, ...body))) : element("p", { textContent: now.words });
    made.setAttribute?.("role", "region");
    made.setAttribute?.("aria-label", `Numbers of ${now.key.replaceAll("_", " ")}`);
    values.replaceChildren(values.firstChild, made);
  }

  // A time as a date, where the start is known.
  function when(value) {
    const day = `day ${number(value)}`;
    if (!now.since) return `${now.across.split(" ")[0].replace(/s$/, "")} ${number(value)}`;
    const date = new Date(Date.parse(now.since + "T00:00:00Z") + Math.floor(value + 1e-9) * 86400e3);
    return `${date.toLocaleDateString("en-GB", { day: "numeric", month: "short", year: "numeric", timeZone: "UTC" })} (${day})`;
  }

  // Faults on the time axis: each is dragged to another time.
  function handles(answer) {
    if (!timed() || !answer) return [];
    return answer.faults
      .filter((fault) => fault.on && fault.on[1] > now.plot.x[0] && fault.on[0] < now.plot.x[1])
      .map((fault) => {
        const [begin, end] = fault.on;
        const handle = element("div", { className: "handle", title: `${fault.title}: drag it to another time` });
        const put = (from) => {
          const left = along(Math.max(from, now.plot.x[0]), now.plot.across, now.plot.x);
          const right = along(Math.min(from + end - begin, now.plot.x[1]), now.plot.across, now.plot.x);
          Object.assign(handle.style, { left: left + "px", width: Math.max(12, right - left) + "px", top: now.plot.down[1] * scale() - 22 + "px" });
        };
        put(begin);
        handle.addEventListener("pointerdown", (event) => {
          event.stopPropagation();
          event.preventDefault();
          const box = area.getBoundingClientRect();
          const start = across(event.clientX - box.left);
          const [x0, x1] = now.plot.x;
          const span = (e) => {
            const from = Math.round(Math.min(x1 - 1, Math.max(0, begin + across(e.clientX - box.left) - start)));
            return [from, `${from}..${from + end - begin}`];
          };
          const move = (e) => {
            const [from, days] = span(e);
            put(from);
            hear.fault(fault.key, days, false);
          };
          const up = (e) => {
            removeEventListener("pointermove", move);
            removeEventListener("pointerup", up);
            hear.fault(fault.key, span(e)[1], true);
          };
          addEventListener("pointermove", move);
          addEventListener("pointerup", up);
        });
        return handle;
      });
  }

  // A place across, in pixels of the screen, as a value.
  const across = (x) => {
    const [left, right] = now.plot.across;
    const share = Math.min(1, Math.max(0, (x / scale() - left) / (right - left)));
    return now.plot.x[0] + share * (now.plot.x[1] - now.plot.x[0]);
  };
  const along = (value, [from, to], [low, high]) => (from + ((value - low) / (high - low)) * (to - from)) * scale();

  function time(value) {
    at = Math.min(now.plot.x[1], Math.max(now.plot.x[0], value));
    const values = now.lines.map(([name, points]) => `${name} ${number(valueAt(points, at))} ${now.unit}`);
    area.setAttribute("aria-valuenow", at);
    said.textContent = `${when(at)}: ${values.join("; ")}`;
    area.setAttribute("aria-valuetext", said.textContent);
    mark.hidden = false;
    mark.style.left = along(at, now.plot.across, now.plot.x) + "px";
    mark.style.top = now.plot.down[0] * scale() + "px";
    mark.style.height = (now.plot.down[1] - now.plot.down[0]) * scale() + "px";
  }

  function cell([column, row]) {
    const { across: xs, down: ys, values } = now.cells;
    at = [Math.min(xs.length - 1, Math.max(0, column)), Math.min(ys.length - 1, Math.max(0, row))];
    const [x, y] = [xs[at[0]], ys[at[1]]];
    const value = values[at[1]][at[0]];
    area.setAttribute("aria-valuenow", x);
    said.textContent = `${x} % every ${y} d: ${value === null ? "does not settle" : number(value) + " " + now.unit}`;
    area.setAttribute("aria-valuetext", said.textContent);
    mark.hidden = false;
    // The lower edge of the picture is the low end of the values.
    const down = [now.plot.down[1], now.plot.down[0]];
    mark.style.left = along(x, now.plot.across, now.plot.x) - 8 + "px";
    mark.style.top = along(y, down, now.plot.y) - 8 + "px";
    mark.style.width = mark.style.height = "16px";
  }

  const nearest = (list, value) =>
    list.reduce((best, v, i) => (Math.abs(v - value) < Math.abs(list[best] - value) ? i : best), 0);

  function pointed(event) {
    if (!reads()) return;
    const box = area.getBoundingClientRect();
    const x = across(event.clientX - box.left);
    if (!now.cells) {
      if (down !== null && timed() && event.pointerType === "mouse") {
        const ends = [down, x].sort((a, b) => a - b).map((v) => along(v, now.plot.across, now.plot.x));
        picked.hidden = ends[1] - ends[0] < 12;
        Object.assign(picked.style, { left: ends[0] + "px", width: ends[1] - ends[0] + "px", top: now.plot.down[0] * scale() + "px", height: (now.plot.down[1] - now.plot.down[0]) * scale() + "px" });
      }
      return time(x);
    }
    const [top, bottom] = now.plot.down;
    const share = Math.min(1, Math.max(0, ((event.clientY - box.top) / scale() - top) / (bottom - top)));
    const y = now.plot.y[1] + share * (now.plot.y[0] - now.plot.y[1]);
    const before = String(at);
    cell([nearest(now.cells.across, x), nearest(now.cells.down, y)]);
    // Choosing is a drag.
    if (down !== null && String(at) !== before) take(false);
  }

  function take(done = true) {
    if (!now.cells || at === null) return;
    const [size, every] = now.cells.keys;
    hear.pick([[size, `${now.cells.across[at[0]]} %`], [every, `${now.cells.down[at[1]]} d`]], done);
  }

  // Where the arrows begin: at the plan in hand.
  function begin() {
    const { here, across: xs, down: ys } = now.cells;
    return here ? [nearest(xs, here[0]), nearest(ys, here[1])] : [0, 0];
  }

  function pressed(event) {
    if (!reads()) return;
    const box = area.getBoundingClientRect();
    down = across(event.clientX - box.left);
    pointed(event);
    addEventListener("pointerup", released, { once: true });
  }

  // A stretch of time that was drawn over is looked at alone.
  function released(event) {
    if (!now.cells && !picked.hidden) {
      const box = area.getBoundingClientRect();
      const [from, to] = [down, across(event.clientX - box.left)].sort((a, b) => a - b);
      if (to - from > 0.02) hear.see(`${from.toFixed(2)}..${to.toFixed(2)}`);
    }
    picked.hidden = true;
    down = null;
    if (now.cells && area.contains(event.target)) take();
  }

  function key(event) {
    if (!reads()) return;
    const steps = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] }[event.key];
    if (now.cells) {
      if (event.key === "Enter" || event.key === " ") take();
      else if (steps) cell(at === null ? begin() : [at[0] + steps[0], at[1] + steps[1]]);
      else return;
    } else {
      const [low, high] = now.plot.x;
      const step = (high - low) / (event.shiftKey ? 10 : 100);
      if (event.key === "Home") time(low);
      else if (event.key === "End") time(high);
      else if (steps && steps[0] !== 0) time((at ?? low) + steps[0] * step);
      else return;
    }
    event.preventDefault();
  }

  area.addEventListener("pointermove", pointed);
  area.addEventListener("pointerdown", pressed);
  area.addEventListener("dblclick", () => timed() && hear.see(null));
  area.addEventListener("keydown", key);
  return { root, caption, show };
}

// A line's value at a time: straight between points; after a step, the value behind it.
function valueAt(points, x) {
  let [low, high] = [0, points.length - 1];
  if (high < 0 || x < points[0][0] || x > points[high][0]) return null;
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if (points[middle][0] <= x) low = middle;
    else high = middle;
  }
  const [[x0, y0], [x1, y1]] = [points[low], points[high]];
  return x1 > x0 ? y0 + ((x - x0) / (x1 - x0)) * (y1 - y0) : y1;
}
