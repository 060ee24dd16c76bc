// From a knob to the picture: keeps the state, asks the server, shows the answer.

import { element } from "/dom.js";
import * as address from "/address.js";
import * as figures from "/figures.js";
import * as knobs from "/knobs.js";

// A secret in the address has done its work: the cookie carries it on, and it need not stand in the history.
if (location.search) history.replaceState(null, "", location.pathname + location.hash);

const $ = (id) => document.getElementById(id);

// { now, pinned }, both as pairs of key and value; nothing while a tank is being chosen.
let state = null;
// The request in flight, and the one that goes next.
let flying = null;
let next = null;
// Width of the pictures that were asked for last.
let asked = 0;

function problem(text) {
  $("problem").textContent = text;
  $("problem").hidden = !text;
  if (text && !$("begin").hidden) $("problem").scrollIntoView({ block: "nearest" });
}

// Sends a request; where there is no good answer, says why and gives nothing.
async function request(path, options) {
  try {
    const response = await fetch(path, options);
    if (response.ok) return response;
    const text = await response.text();
    problem(response.status === 413 ? "error: this file is larger than the page reads; `brinecast run` takes larger ones" : text);
  } catch (error) {
    if (error.name === "AbortError") throw error;
    problem("error: brinecast does not answer. It was ended, perhaps: start it again and reload this page.");
  }
  return null;
}

// Asks for the answer to the state and shows it: true; false where there is none; null where a later one took its place.
// One request is in flight at a time, and the latest state goes next. While a hand moves a knob, what takes long is left
// out, and every answer is shown; a long one that nobody waits for any more is left.
function ask(moving = false) {
  return new Promise((heard) => {
    next = next ? { moving: next.moving && moving, heard: [...next.heard, heard] } : { moving, heard: [heard] };
    if (flying && !flying.moving) flying.abort.abort();
    if (!flying) fly();
  });
}

async function fly() {
  while (next) {
    const { moving, heard } = next;
    next = null;
    flying = { moving, abort: new AbortController() };
    let good = null;
    try {
      good = await once(moving, flying.abort.signal);
    } finally {
      flying = null;
      for (const hear of heard) hear(good);
    }
  }
}

async function once(moving, signal) {
  $("begin").hidden = true;
  $("tank").hidden = false;
  if (!moving) $("tank").classList.add("waiting");
  asked = column();
  try {
    const response = await request("/answer", { method: "POST", body: address.body(state, asked, moving), signal });
    const answer = await response?.json();
    if (signal.aborted || !state) return null;
    $("tank").classList.toggle("stale", !answer);
    if (!answer) return false;
    problem("");
    show(answer, moving);
    document.body.dataset.answered = String(Number(document.body.dataset.answered ?? 0) + 1);
    return true;
  } catch (error) {
    if (error.name === "AbortError") return null;
    throw error;
  } finally {
    if (!next) $("tank").classList.remove("waiting");
  }
}

// Width of a picture in pixels: that of a column of the grid or of a place in the strip, less the edge of its figure.
function column() {
  const style = getComputedStyle($("figures"));
  const strip = style.display === "flex";
  return Math.round((strip ? Math.min(0.9 * $("figures").clientWidth, 416) : parseFloat(style.gridTemplateColumns)) - 16);
}

// Writes the state into the address: a new entry, so that Back undoes it. One after the other, as they were made.
let kept = Promise.resolve();
function keep() {
  const { now, pinned } = state;
  const snapshot = { now: new URLSearchParams(now), pinned };
  kept = kept.then(async () => {
    const written = await address.written(snapshot);
    if (written !== location.hash) history.pushState(null, "", written);
  });
  return kept;
}

function turn(key, value, done) {
  if (value === null) state.now.delete(key);
  else state.now.set(key, value);
  ask(!done);
  if (done) keep();
}

// Turns several knobs at once; `done` when the hand lets go.
function pick(sets, done = true) {
  for (const [key, value] of sets) state.now.set(key, value);
  ask(!done);
  if (done) keep();
}

// What to do, each a button that turns the knobs; what has no knob is told.
function advise(actions) {
  const one = ({ do: what, set }, alone) => {
    if (set.length === 0) return element("p", { textContent: what });
    const button = element("button", { type: "button", textContent: (alone ? "" : "Or: ") + what });
    button.addEventListener("click", () => pick(set.map((s) => s.split(/=(.*)/s).slice(0, 2))));
    return button;
  };
  const made = actions.flatMap((action) => [one(action, true), ...action.or.map((way) => one(way, false))]);
  $("todo").replaceChildren(...made);
  $("todo").hidden = made.length === 0;
}

// Shows an answer; while a hand moves, what takes long stands as it was.
function show(answer, moving) {
  $("another").hidden = $("pin").hidden = $("take-away").hidden = false;
  $("pin").textContent = state.pinned ? "Let the pinned one go" : "Pin this to compare";
  document.title = `${answer.title}: brinecast`;
  $("title").textContent = answer.title;
  $("sentence").textContent = $("whole").textContent = answer.answer;
  $("strip").className = answer.bands_kept ? "yes" : "no";
  if (!moving) advise(answer.todo);
  if (moving) $("chances").textContent = "";
  const percent = ([name, chance, error]) => `${name.replaceAll("_", " ")} ${Math.round(100 * chance)} % ± ${Math.max(1, Math.round(100 * error))} %`;
  $("chances").textContent = answer.chances.length ? `Chance of leaving its band: ${answer.chances.map(percent).join("; ")}.` : "";
  const warning = (w) => element("li", { textContent: sentence(w.text) }, element("span", { textContent: `Try: ${w.advice}.` }));
  $("warnings").replaceChildren(...answer.warnings.map(warning));
  knobs.show($("knobs"), answer.controls, answer.faults, turn);
  figures.show($("figures"), answer, moving, { pick, choose: (measure) => turn("measure", measure, true), see: (days) => turn("see", days, true), fault: (key, days, done) => turn("fault." + key, days, done) });
  numbers(answer);
  card(answer.card, answer.cautions);
  $("command").textContent = answer.command;
  const where = `brinecast ${answer.brinecast}; ${answer.scenario}; ${answer.basis} basis${answer.seed === null ? "" : `; seed ${answer.seed}`}`;
  $("cautions").replaceChildren(...answer.cautions.concat(where).map((c) => element("p", { textContent: c })));
}

const sentence = (text) => text.charAt(0).toUpperCase() + text.slice(1) + ".";

function numbers(answer) {
  const cell = (text, className = "") => element("td", { textContent: text, className });
  const heads = ["", "now", ...(state.pinned ? ["pinned", "difference"] : []), "unit"];
  const head = element("tr", {}, ...heads.map((h) => (h ? element("th", { scope: "col", textContent: h }) : element("td"))));
  const rows = answer.numbers.map(([what, unit, now, pinned]) => {
    const cells = [cell(figures.number(now))];
    if (state.pinned) {
      const both = now !== null && pinned !== null;
      cells.push(cell(figures.number(pinned)), cell(both ? figures.number(now - pinned) : "–"));
    }
    return element("tr", {}, element("th", { scope: "row", textContent: what.replaceAll("_", " ") }), ...cells, cell(unit, "unit"));
  });
  $("numbers").replaceChildren(element("thead", {}, head), element("tbody", {}, ...rows));
}

// The card, with the cautions that the page does not say already.
function card(result, said) {
  if (result.Err !== undefined) {
    $("card").replaceChildren(element("p", { className: "whole", textContent: result.Err }));
    return;
  }
  const made = result.Ok;
  const part = ({ heading, lines }) => {
    const list = element("dl");
    for (const [label, value] of lines) {
      list.append(element("dt", { textContent: label }), element("dd", { textContent: value }));
    }
    return element("div", {}, element("h3", { textContent: heading }), list);
  };
  $("card").replaceChildren(
    element("p", { className: "whole", textContent: made.title }),
    ...made.parts.map(part),
    element("p", { className: "whole", textContent: made.cautions.filter((c) => !said.includes(c)).join(" ") }),
  );
}

function begin(start) {
  const question = ({ key, label, choices, default: usual }) => {
    const id = "ask-" + key;
    const field = choices.length
      ? element("select", { id, name: key }, ...choices.map(([value, textContent]) => element("option", { value, textContent })))
      : element("input", { id, name: key, type: "text", value: usual });
    field.value = usual;
    return element("label", { htmlFor: id, textContent: label }, field);
  };
  $("questions").replaceChildren(...start.questions.map(question), element("button", { type: "submit", textContent: "Show my tank" }));
  // The usual volume in the units that are chosen, until one is typed.
  const usual = { metric: "300 L", us: "75 US gal" };
  $("ask-units").addEventListener("change", (event) => {
    if (Object.values(usual).includes($("ask-volume").value)) $("ask-volume").value = usual[event.target.value];
  });
  $("questions").addEventListener("submit", (event) => {
    event.preventDefault();
    const now = new URLSearchParams([["from", "questions"]]);
    for (const [key, value] of new FormData(event.target)) now.set("ask." + key, value);
    open(now);
  });
  $("scenarios").replaceChildren(
    ...start.scenarios.map(({ name, title, question }) =>
      element("li", {}, element("a", { href: "#from=" + name, textContent: title }), element("small", { textContent: question })),
    ),
  );
  $("file").addEventListener("change", async (event) => {
    const [file] = event.target.files;
    if (!file) return;
    if (file.size > 128 * 1024) problem(`error: ${file.name} is larger than 128 kB, the most that this page reads`);
    else await open(new URLSearchParams([["from", "file"], ["text", await file.text()]]));
    event.target.value = "";
  });
  $("take").append(...start.take.map((name) => element("option", { value: name, textContent: name })));
}

// Opens a tank; one that cannot be read leaves the choice of tanks as it was, with what is wrong.
async function open(now) {
  state = { now, pinned: null };
  const answered = await ask();
  if (answered) await keep();
  else if (answered === false) choose();
}

// Shows the choice of tanks, with the answers that were given already.
function choose() {
  for (const [key, value] of state?.now ?? []) {
    const field = key.startsWith("ask.") ? $("ask-" + key.slice(4)) : null;
    if (field) field.value = value;
  }
  state = null;
  flying?.abort.abort();
  $("tank").hidden = $("another").hidden = $("pin").hidden = $("take-away").hidden = true;
  $("begin").hidden = false;
  document.title = "brinecast";
  example();
}

// A finished example, so that one sees at once what there is to see.
let exemplified = false;
async function example() {
  if (exemplified) return;
  exemplified = true;
  const width = Math.min(560, document.documentElement.clientWidth - 32);
  const shown = { now: new URLSearchParams("from=mixed-reef"), pinned: null };
  const response = await request("/answer", { method: "POST", body: address.body(shown, width, true) });
  const answer = await response?.json();
  if (!answer) return;
  $("example-answer").textContent = `${answer.title}: ${answer.answer} ${answer.todo[0]?.do ?? ""}`;
  $("example-picture").innerHTML = answer.figures.find((f) => f.key === "salinity").svg;
  $("example").hidden = false;
}

$("another").addEventListener("click", () => {
  location.hash = "";
});
$("pin").addEventListener("click", () => {
  state.pinned = state.pinned ? null : new URLSearchParams(state.now);
  ask();
  keep();
});
$("take").addEventListener("change", async (event) => {
  const name = event.target.value;
  event.target.value = "";
  if (!name) return;
  const response = await request("/take/" + name, { method: "POST", body: address.body(state, 0, false) });
  if (!response) return;
  const link = element("a", { href: URL.createObjectURL(await response.blob()), download: name });
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 10_000);
});
document.querySelector(".skip").addEventListener("click", (event) => {
  event.preventDefault();
  $("answer").focus();
});

// Back, Forward, reload and bookmarks all come in here.
async function arrive() {
  state = await address.read();
  if (state) {
    if ((await ask()) === false && $("figures").childElementCount === 0) choose();
    return;
  }
  problem("");
  choose();
}

let resized;
addEventListener("resize", () => {
  clearTimeout(resized);
  resized = setTimeout(() => state && column() !== asked && ask(), 250);
});
addEventListener("popstate", arrive);
const start = await request("/start");
if (start) {
  begin(await start.json());
  await arrive();
}
