// The pictures: drawn by the server, read off here under the pointer and by keyboard.

import { element } from "/dom.js";

// Numbers for reading: four significant digits.
export const number = (value) => (value === null ? "–" : String(Number(value.toPrecision(4))));

const shown = new Map();

// Shows the pictures; `pick(sets)` hears a place chosen on the map, `choose(measure)` what the map shall show.
export function show(place, answer, pick, choose) {
  const keys = answer.figures.map((f) => f.key);
  for (const [key, figure] of shown) {
    if (!keys.includes(key)) {
      figure.root.remove();
      shown.delete(key);
    }
  }
  for (const [i, drawn] of answer.figures.entries()) {
    let figure = shown.get(drawn.key);
    if (!figure) {
      figure = make(drawn, pick);
      shown.set(drawn.key, figure);
    }
    // Moved only where it must be: a picture that is moved loses the keyboard.
    if (place.children[i] !== figure.root) place.insertBefore(figure.root, place.children[i] ?? null);
    figure.show(drawn);
  }
  const map = shown.get("map");
  if (map) offer(map, answer, choose);
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

function make(drawn, pick) {
  const root = element("figure", { id: "figure-" + drawn.key });
  const area = element("div", { className: drawn.cells ? "drawn map" : "drawn" });
  const caption = element("figcaption");
  const said = element("output", { ariaLive: "off", textContent: drawn.cells ? "Point at a place to read it; take it with a click." : "" });
  const mark = element("div", { className: drawn.cells ? "here cell" : "here", hidden: true });
  caption.append(said);
  root.append(area, caption);
  let now = drawn;
  let at = null;

  const scale = () => area.clientWidth / now.size[0];
  const reads = () => now.plot && (now.lines.length > 0 || now.cells);

  function show(next) {
    now = next;
    area.innerHTML = next.svg;
    area.append(mark);
    area.tabIndex = reads() ? 0 : -1;
    if (reads()) {
      // Read off by moving along it, as a slider is.
      area.setAttribute("role", "slider");
      area.setAttribute("aria-valuemin", next.plot.x[0]);
      area.setAttribute("aria-valuemax", next.plot.x[1]);
      area.setAttribute("aria-label", `${next.title} ${next.cells ? "Arrow keys move, Enter takes the place." : "Arrow keys read values off."}`);
    }
    if (at !== null) (now.cells ? cell(at) : time(at));
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
    said.textContent = `${now.across.split(" ")[0].replace(/s$/, "")} ${number(at)}: ${values.join("; ")}`;
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
    if (!now.cells) return time(x);
    const [top, bottom] = now.plot.down;
    const share = Math.min(1, Math.max(0, ((event.clientY - box.top) / scale() - top) / (bottom - top)));
    const y = now.plot.y[1] + share * (now.plot.y[0] - now.plot.y[1]);
    cell([nearest(now.cells.across, x), nearest(now.cells.down, y)]);
  }

  function take() {
    if (!now.cells || at === null) return;
    const [size, every] = now.cells.keys;
    pick([[size, `${now.cells.across[at[0]]} %`], [every, `${now.cells.down[at[1]]} d`]]);
  }

  function key(event) {
    if (!reads()) return;
    const steps = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] }[event.key];
    if (now.cells) {
      if (event.key === "Enter" || event.key === " ") take();
      else if (steps) cell(at === null ? [0, 0] : [at[0] + steps[0], at[1] + steps[1]]);
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
  area.addEventListener("pointerdown", pointed);
  area.addEventListener("click", take);
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
