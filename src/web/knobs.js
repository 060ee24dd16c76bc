// The knobs, built from what the server says they are.

import { element } from "/dom.js";

// Groups that stand open; the others are opened by hand and then stay so.
const open = new Set(["Water changes", "Evaporation and top-off"]);
let shape = "";

// Shows the knobs; `turn(key, value, done)` hears each turn, `done` when the hand lets go.
export function show(form, controls, faults, turn) {
  const now = JSON.stringify([
    controls.map((c) => [c.key, c.label, c.unit, c.choices]),
    faults.map((f) => [f.key, f.cannot, f.on !== null]),
  ]);
  if (now !== shape) {
    const focus = document.activeElement?.id;
    build(form, controls, faults, turn);
    shape = now;
    if (focus) document.getElementById(focus)?.focus({ preventScroll: true });
  }
  for (const control of controls) place(control);
}

function build(form, controls, faults, turn) {
  const groups = new Map();
  for (const control of controls) {
    if (!groups.has(control.group)) groups.set(control.group, []);
    groups.get(control.group).push(knob(control, turn));
  }
  groups.set("What goes wrong", picker(faults.map((fault) => faultSwitch(fault, turn))));
  form.replaceChildren(
    ...Array.from(groups, ([name, knobs]) => {
      const group = element("details", { open: open.has(name) }, element("summary", { textContent: name }), ...knobs);
      group.addEventListener("toggle", () => (group.open ? open.add(name) : open.delete(name)));
      return group;
    }),
  );
}

// All faults, and a field that leaves those with the words that are typed.
function picker(switches) {
  const field = element("input", { type: "search", id: "fault-search", placeholder: `search ${switches.length} faults` });
  field.setAttribute("aria-label", "Search the faults");
  field.addEventListener("input", () => {
    const words = field.value.toLowerCase().split(/\s+/);
    for (const one of switches) {
      const text = one.textContent.toLowerCase();
      one.hidden = !one.querySelector("input").checked && !words.every((word) => text.includes(word));
    }
  });
  return [field, ...switches];
}

// What a knob means, shown when it is asked for.
function help(id, text) {
  const said = element("small", { id, textContent: text, hidden: true });
  const ask = element("button", { type: "button", className: "ask", textContent: "?" });
  ask.setAttribute("aria-label", "What this means");
  ask.setAttribute("aria-expanded", "false");
  ask.setAttribute("aria-controls", id);
  ask.addEventListener("click", () => {
    said.hidden = !said.hidden;
    ask.setAttribute("aria-expanded", String(!said.hidden));
  });
  return text ? [ask, said] : [null, said];
}

const idOf = (key) => "knob-" + key.replaceAll(/[^a-z0-9]+/gi, "-");

function knob(control, turn) {
  const id = idOf(control.key);
  const name = element("label", { className: "name", htmlFor: id, textContent: control.label });
  const [question, meaning] = help(id + "-help", control.help);
  const box = element("div", { className: "knob" }, element("span", { className: "called" }, name, ...(question ? [question] : [])));
  if (control.choices.length > 0) {
    const options = control.choices.map(([word, text]) => element("option", { value: word, textContent: text }));
    const select = element("select", { id, name: control.key }, ...options);
    select.setAttribute("aria-describedby", meaning.id);
    select.addEventListener("change", () => turn(control.key, select.value, true));
    box.append(select, meaning);
    return box;
  }
  const [low, high, step] = control.range;
  const typed = element("input", { id, type: "number", name: control.key, step: "any", inputMode: "decimal" });
  typed.setAttribute("aria-describedby", meaning.id);
  const slider = element("input", { id: id + "-slider", type: "range", min: low, max: high, step });
  slider.setAttribute("aria-label", `${control.label}, ${control.unit}`);
  const value = (number) => `${number} ${control.unit}`;
  slider.addEventListener("input", () => {
    typed.value = slider.value;
    turn(control.key, value(slider.value), false);
  });
  slider.addEventListener("change", () => turn(control.key, value(slider.value), true));
  typed.addEventListener("change", () => {
    if (typed.value !== "") turn(control.key, value(typed.value), true);
  });
  const unit = element("span", { className: "unit", textContent: control.unit });
  box.append(element("span", { className: "typed" }, typed, unit), slider, meaning);
  return box;
}

// Puts a knob where the answer says it stands, unless a hand is on it.
function place(control) {
  const typed = document.getElementById(idOf(control.key));
  if (!typed) return;
  if (control.choices.length > 0) {
    typed.value = control.value;
    return;
  }
  const slider = document.getElementById(typed.id + "-slider");
  const held = document.activeElement === slider || document.activeElement === typed;
  // A range may hang on another knob; it moves where it stands, so that no hand loses its knob.
  [slider.min, slider.max, slider.step] = control.range;
  if (held && typed.value !== "" && Number(typed.value) === Number(slider.value)) return;
  typed.value = control.value ?? "";
  slider.value = control.value ?? slider.min;
}

function faultSwitch(fault, turn) {
  const id = "fault-" + fault.key;
  const box = element("input", { type: "checkbox", id, checked: fault.on !== null, disabled: fault.cannot !== null });
  const made = element("div", { className: fault.cannot ? "fault cannot" : "fault" });
  made.append(element("label", { htmlFor: id }, box, fault.title));
  made.append(element("small", { textContent: fault.cannot ?? fault.size }));
  const [begin, end] = fault.on ?? [30, 37];
  const day = (name, value) => {
    const input = element("input", { type: "number", id: `${id}-${name}`, value, min: 0, step: 1 });
    input.addEventListener("change", say);
    return input;
  };
  const say = () => {
    const span = box.checked ? `${from.value}..${to.value}` : null;
    turn("fault." + fault.key, span, true);
  };
  const from = day("from", begin);
  const to = day("to", end);
  box.addEventListener("change", say);
  if (fault.on !== null) {
    const span = element("fieldset", {}, element("legend", { className: "heard", textContent: fault.title }));
    span.append(element("label", { htmlFor: from.id, textContent: "from day" }), from);
    span.append(element("label", { htmlFor: to.id, textContent: "to day" }), to);
    made.append(span);
  }
  return made;
}
