// SPDX-License-Identifier: Apache-2.0
// The photo bench. It draws and asks; every number comes from the server's own engine.
import { Loupe } from "./loupe.js";
import { Picture } from "./picture.js";
import { Profile } from "./profile.js";
import { Readings } from "./readings.js";
import { tr, trf } from "./words.js";

const ns = "http://www.w3.org/2000/svg";
const bench = document.getElementById("bench");
const stage = document.getElementById("stage");
const saying = document.getElementById("saying");
const path = bench.dataset.path;
const mayMark = bench.querySelector("[data-tool]") !== null;
const button = (act) => bench.querySelector(`[data-act="${act}"]`);

const tools = {
  distance: { kind: "distance", least: 2, most: 2, say: tr("Set two points.") },
  line: { kind: "distance", least: 2, most: 500, say: tr("Set points along the item; Enter or a second click on the last one ends it.") },
  area: { kind: "area", least: 3, most: 500, say: tr("Set points round it; Enter or a second click on the last one ends it.") },
  glaze: { kind: "glaze_length", least: 2, most: 500, say: tr("Set points along the glazed stretch; Enter or a second click on the last one ends it.") },
  pin: { kind: "pin", least: 1, most: 1, say: tr("Set the place the words belong to.") },
  corners: { kind: "corners", least: 4, most: 4, say: tr("Set the card's four corners: its own top left first, then clockwise.") },
};

let picture, loupe, report = { readings: [], hand_from: 0 };
let drawn = { corners: null, marks: [], pins: [] };
let history = [], turn = 0, keptTurn = 0;
let tool = null, points = [], cross = null, catching = false, lit = -1, station = null;

const copy = (value) => JSON.parse(JSON.stringify(value));
const corners = () => drawn.corners ?? report.card?.corners_px ?? null;

function say(words, wrong = false) {
  saying.textContent = words;
  saying.classList.toggle("wrong", wrong);
}

// ---- Asking the server: one question at a time, always the newest ----

let asking = false, again = false;
// Each move of a corner has a number, so that an answer to an older one never covers a newer.
let move = 0, measuredMove = 0;

async function post(what) {
  const answer = await fetch(`${path}/${what}`, {
    method: "POST",
    headers: { "Content-Type": "application/json", "X-Frayhold-Token": bench.dataset.token },
    body: JSON.stringify(drawn),
  });
  if (!answer.headers.get("Content-Type")?.startsWith("application/json")) throw new Error(await answer.text());
  const told = await answer.json();
  if (told.error) throw new Error(told.error);
  return told;
}

async function measure() {
  if (asking) { again = true; return; }
  asking = true;
  bench.setAttribute("aria-busy", "true");
  try {
    do {
      again = false;
      const of = move;
      const told = await post("measure");
      measuredMove = of;
      take(told);
    } while (again);
  } catch (fault) {
    // Numbers of another drawing must not stand beside this one.
    report = { ...report, readings: [], hand_from: 0, profile: null };
    show();
    say(fault.message, true);
  } finally {
    asking = false;
    bench.removeAttribute("aria-busy");
    bench.dataset.answers = String(Number(bench.dataset.answers ?? 0) + 1);
    if (again) measure();
  }
}

// While a corner moves: the values follow by their gradients, until it rests and is measured anew.
let following = false, followAgain = false;

async function follow() {
  if (following) { followAgain = true; return; }
  following = true;
  try {
    do {
      followAgain = false;
      const of = move, before = performance.now();
      const told = await post("follow");
      if (!told.readings || of <= measuredMove || told.readings.length !== report.readings.length) continue;
      told.readings.forEach((reading, i) => Object.assign(report.readings[i], reading));
      readings.draw(report, drawn, mayMark);
      bench.dataset.followedIn = (performance.now() - before).toFixed(1);
    } while (followAgain);
  } catch {
    // What is wrong with these corners is said by the measuring.
  } finally {
    following = false;
  }
}

function take(told) {
  report = told;
  show();
  const quality = report.quality;
  if (quality && !quality.usable) say(trf("Not measured: {}", quality.reasons.join("; ")), true);
  else say(cardWords());
}

function cardWords() {
  if (!report.card) return tr("No card: set its corners by hand to measure.");
  const tilt = report.card.tilt_deg?.toFixed(0) ?? null;
  switch (report.card.kind) {
    case "printed":
      return tilt === null ? tr("Scale from the printed card.") : trf("Scale from the printed card, tilted {}°.", tilt);
    case "id1":
      return tilt === null ? tr("Scale from a plain ID-1 card.") : trf("Scale from a plain ID-1 card, tilted {}°.", tilt);
    case "corners":
      return tilt === null ? tr("Scale from corners set by hand.") : trf("Scale from corners set by hand, tilted {}°.", tilt);
    default:
      return tilt === null ? tr("Scale from the card.") : trf("Scale from the card, tilted {}°.", tilt);
  }
}

// ---- What is drawn, with undo ----

function changed() {
  history = history.slice(0, turn + 1);
  history.push(copy(drawn));
  turn = history.length - 1;
  measure();
  show();
}

function goTo(place) {
  if (place < 0 || place >= history.length) return;
  turn = place;
  drawn = copy(history[turn]);
  dropPoints();
  measure();
  show();
}

async function keep() {
  try {
    const told = await post("marks");
    keptTurn = turn;
    take(told);
    say(tr("Kept with the photo."));
  } catch (fault) {
    say(fault.message, true);
  }
}

// ---- Drawing over the picture ----

const over = document.createElementNS(ns, "svg");
over.setAttribute("class", "over");
const lines = document.createElementNS(ns, "g"), handles = document.createElementNS(ns, "g");
over.append(lines, handles);

function shape(name, attributes, text) {
  const made = document.createElementNS(ns, name);
  for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
  if (text !== undefined) made.textContent = text;
  lines.append(made);
}

const onStage = (list) => list.map((p) => picture.toStage(p).map((v) => v.toFixed(1)).join(",")).join(" ");

function outline(list, closed, name) {
  const at = onStage(list);
  shape(closed ? "polygon" : "polyline", { class: "underlay", points: at });
  shape(closed ? "polygon" : "polyline", { class: name, points: at });
}

function paint() {
  lines.replaceChildren();
  const card = corners();
  if (card) outline(card, true, "card");
  report.readings.slice(0, report.hand_from).forEach((reading, i) => {
    if (reading.outline_px.length > 1)
      outline(reading.outline_px, reading.outline_px.length > 2, i === lit ? "outline lit" : "outline");
  });
  drawn.marks.forEach((mark, i) => {
    outline(mark.points, mark.kind === "area", mark.kind === "area" ? "hand area" : "hand");
    const [x, y] = picture.toStage(mark.points[0]);
    const words = report.readings[report.hand_from + i]?.words;
    if (words) shape("text", { x: x + 8, y: y - 8 }, mark.label ? `${mark.label}: ${words}` : words);
  });
  drawn.pins.forEach((pin, i) => {
    const [x, y] = picture.toStage(pin.at);
    shape("circle", { class: "pin", cx: x, cy: y, r: 6 });
    shape("text", { x: x + 10, y: y + 5 }, `${i + 1}. ${pin.words}`);
  });
  if (points.length) {
    outline(points, false, "hand");
    for (const point of points) {
      const [cx, cy] = picture.toStage(point);
      shape("circle", { class: "pick", cx, cy, r: 4 });
    }
  }
  if (station) {
    const [cx, cy] = picture.toStage(station);
    shape("circle", { class: "underlay", cx, cy, r: 15 });
    shape("circle", { class: "station", cx, cy, r: 15 });
  }
  if (cross && tool) {
    const [x, y] = cross;
    shape("path", { class: "cross", d: `M${x - 16} ${y}h11M${x + 5} ${y}h11M${x} ${y - 16}v11M${x} ${y + 5}v11` });
  }
  placeHandles(card);
}

function placeHandles(card) {
  const count = card && mayMark ? 4 : 0;
  while (handles.childElementCount > count) handles.lastElementChild.remove();
  while (handles.childElementCount < count) {
    const made = document.createElementNS(ns, "circle");
    made.setAttribute("class", "handle");
    made.setAttribute("r", "11");
    made.setAttribute("tabindex", "0");
    made.setAttribute("role", "button");
    made.dataset.corner = String(handles.childElementCount);
    made.addEventListener("keydown", cornerKey);
    made.addEventListener("focus", () => picture.show(corners()[Number(made.dataset.corner)]));
    handles.append(made);
  }
  const names = [
    (x, y) => trf("Card corner top left, at {}, {}. Arrow keys move it.", x, y),
    (x, y) => trf("Card corner top right, at {}, {}. Arrow keys move it.", x, y),
    (x, y) => trf("Card corner bottom right, at {}, {}. Arrow keys move it.", x, y),
    (x, y) => trf("Card corner bottom left, at {}, {}. Arrow keys move it.", x, y),
  ];
  for (let i = 0; i < count; ++i) {
    const [cx, cy] = picture.toStage(card[i]);
    const handle = handles.children[i];
    handle.setAttribute("cx", cx);
    handle.setAttribute("cy", cy);
    handle.setAttribute("aria-label", names[i](card[i][0].toFixed(1), card[i][1].toFixed(1)));
  }
}

function show() {
  readings.draw(report, drawn, mayMark);
  profile.draw(report.profile);
  document.getElementById("remarks").replaceChildren(...(report.remarks ?? []).map((words) => {
    const made = document.createElement("p");
    made.className = "hint";
    made.textContent = words;
    return made;
  }));
  if (mayMark) {
    button("undo").disabled = turn === 0;
    button("redo").disabled = turn >= history.length - 1;
    button("found").disabled = drawn.corners === null;
    button("keep").disabled = turn === keptTurn;
  }
  button("flat").disabled = !corners();
  paint();
}

function moveCorner(i, point) {
  drawn.corners = copy(corners());
  drawn.corners[i] = point;
  ++move;
  follow();
  measure();
  paint();
}

function cornerKey(event) {
  const steps = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
  const way = steps[event.key];
  if (!way) return;
  event.preventDefault();
  event.stopPropagation();
  const i = Number(event.currentTarget.dataset.corner), step = event.shiftKey ? 0.25 : 1;
  const [x, y] = corners()[i];
  moveCorner(i, [x + way[0] * step, y + way[1] * step]);
  changed();
}

// ---- Tools ----

function choose(name) {
  dropPoints();
  tool = tool === name ? null : name;
  for (const each of bench.querySelectorAll("[data-tool]"))
    each.setAttribute("aria-pressed", String(each.dataset.tool === tool));
  stage.classList.toggle("drawing", tool !== null);
  if (!tool) { loupe.hide(); cross = null; }
  say(tool ? tools[tool].say : cardWords());
  paint();
}

function dropPoints() {
  points = [];
}

// The nearest edge in the picture, found by the server.
async function caught(point) {
  if (!catching) return point;
  const answer = await fetch(`${path}/edge?x=${point[0]}&y=${point[1]}&within=${Math.max(4, 14 / picture.scale)}`);
  return (answer.ok && (await answer.json()).at) || point;
}

async function setPoint(at) {
  const point = await caught(picture.fromStage(at));
  const last = points[points.length - 1];
  if (last && points.length >= tools[tool].least) {
    const [lx, ly] = picture.toStage(last), [x, y] = picture.toStage(point);
    if (Math.hypot(lx - x, ly - y) < 7) return finish();
  }
  points.push(point);
  if (points.length >= tools[tool].most) return finish();
  paint();
}

async function finish() {
  if (!tool || points.length < tools[tool].least) return;
  const kind = tools[tool].kind, set = points;
  dropPoints();
  if (kind === "corners") {
    drawn.corners = set;
    choose(null);
  } else if (kind === "pin") {
    const words = await askWords();
    if (!words) return paint();
    drawn.pins.push({ at: set[0], words });
  } else {
    drawn.marks.push({ kind, points: set, label: "" });
  }
  changed();
}

function askWords() {
  const dialog = document.createElement("dialog");
  dialog.className = "sheet";
  dialog.innerHTML = '<form method="dialog"><label for="pin-words"></label><input id="pin-words" required><p class="do"><button value="yes"></button><button value="" class="quiet-button" formnovalidate></button></p></form>';
  dialog.querySelector("label").textContent = tr("What is seen there?");
  const [pin, drop] = dialog.querySelectorAll("button");
  pin.textContent = tr("Pin it");
  drop.textContent = tr("Drop it");
  bench.append(dialog);
  dialog.showModal();
  return new Promise((done) => dialog.addEventListener("close", () => {
    done(dialog.returnValue === "yes" ? dialog.querySelector("input").value.trim() : "");
    dialog.remove();
    stage.focus();
  }));
}

async function layFlat() {
  const on = button("flat").getAttribute("aria-pressed") !== "true";
  try {
    await picture.layFlat(on ? corners() : null);
    button("flat").setAttribute("aria-pressed", String(on));
    say(on ? tr("As seen from straight above. Readings are taken from the photo itself.") : cardWords());
  } catch (fault) {
    say(fault.message, true);
  }
}

// ---- Fingers, mouse and keys ----

const down = new Map();
let grip = null, pinch = 0, moved = false;
const spot = (event) => {
  const box = stage.getBoundingClientRect();
  return [event.clientX - box.left, event.clientY - box.top];
};

stage.addEventListener("pointerdown", (event) => {
  if (event.button > 0) return;
  const at = spot(event);
  down.set(event.pointerId, at);
  stage.setPointerCapture(event.pointerId);
  moved = false;
  const handle = event.target.closest?.(".handle");
  grip = handle && down.size === 1 ? Number(handle.dataset.corner) : null;
  if (grip !== null) loupe.show(at);
  if (down.size === 2) { grip = null; pinch = spread(); }
});

const spread = () => {
  const [a, b] = [...down.values()];
  return Math.hypot(a[0] - b[0], a[1] - b[1]);
};

stage.addEventListener("pointermove", (event) => {
  const at = spot(event), before = down.get(event.pointerId);
  if (tool && event.target.closest?.(".stage")) {
    cross = at;
    loupe.show(at);
    if (!before) return paint();
  }
  if (!before) return;
  if (Math.hypot(at[0] - before[0], at[1] - before[1]) > 0) moved ||= down.size > 1 || !tool;
  down.set(event.pointerId, at);
  if (down.size === 2) {
    const now = spread(), [a, b] = [...down.values()];
    picture.zoomAt([(a[0] + b[0]) / 2, (a[1] + b[1]) / 2], now / pinch);
    picture.moveBy((at[0] - before[0]) / 2, (at[1] - before[1]) / 2);
    pinch = now;
  } else if (grip !== null) {
    moveCorner(grip, picture.fromStage(at));
    loupe.show(at);
  } else if (!tool) {
    picture.moveBy(at[0] - before[0], at[1] - before[1]);
  } else {
    paint();
  }
});

function lift(event) {
  if (!down.delete(event.pointerId)) return;
  const at = spot(event);
  if (grip !== null) {
    grip = null;
    loupe.hide();
    if (moved) changed();
  } else if (tool && event.type === "pointerup" && down.size === 0 && !moved) {
    setPoint(at);
  }
  if (event.pointerType === "touch") { loupe.hide(); cross = null; paint(); }
}
stage.addEventListener("pointerup", lift);
stage.addEventListener("pointercancel", lift);
stage.addEventListener("pointerleave", () => { if (!down.size) { loupe?.hide(); cross = null; paint(); } });
stage.addEventListener("wheel", (event) => {
  event.preventDefault();
  picture.zoomAt(spot(event), Math.exp(-event.deltaY * (event.ctrlKey ? 0.01 : 0.0015)));
}, { passive: false });

const middle = () => [stage.clientWidth / 2, stage.clientHeight / 2];

stage.addEventListener("keydown", (event) => {
  const ways = { ArrowLeft: [1, 0], ArrowRight: [-1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };
  if (ways[event.key] && event.target === stage) {
    event.preventDefault();
    const [dx, dy] = ways[event.key];
    if (!tool) return picture.moveBy(dx * (event.shiftKey ? 8 : 60), dy * (event.shiftKey ? 8 : 60));
    const step = event.shiftKey ? 1 : 12;
    cross = [(cross ?? middle())[0] - dx * step, (cross ?? middle())[1] - dy * step];
    loupe.show(cross);
    return paint();
  }
  if (event.key === " " && tool && event.target === stage) {
    event.preventDefault();
    cross ??= middle();
    setPoint(cross);
  }
});

const acts = {
  closer: () => picture.zoomAt(middle(), 1.4),
  farther: () => picture.zoomAt(middle(), 1 / 1.4),
  whole: () => picture.whole(),
  flat: layFlat,
  undo: () => goTo(turn - 1),
  redo: () => goTo(turn + 1),
  found: () => { drawn.corners = null; changed(); },
  keep,
  snap: () => {
    catching = !catching;
    button("snap").setAttribute("aria-pressed", String(catching));
  },
};

document.addEventListener("keydown", (event) => {
  if (event.target.matches("input, textarea, dialog *")) return;
  if (event.ctrlKey || event.metaKey) {
    const act = { z: event.shiftKey ? "redo" : "undo", Z: "redo", y: "redo" }[event.key];
    if (act && mayMark) { event.preventDefault(); acts[act](); }
    return;
  }
  if (event.altKey) return;
  const letters = { d: "distance", l: "line", a: "area", g: "glaze", w: "pin", c: "corners" };
  if (letters[event.key] && mayMark) { stage.focus(); return choose(letters[event.key]); }
  if (event.key === "Escape") return points.length ? (dropPoints(), paint()) : choose(null);
  if (event.key === "Enter" && tool && event.target === stage) return void finish();
  const act = { "+": "closer", "=": "closer", "-": "farther", 0: "whole", f: "flat", e: mayMark ? "snap" : undefined }[event.key];
  if (act && !button(act).disabled) acts[act]();
});

bench.addEventListener("click", (event) => {
  const pressed = event.target.closest("button[data-act], button[data-tool]");
  if (!pressed) return;
  if (pressed.dataset.tool) choose(pressed.dataset.tool);
  else acts[pressed.dataset.act]();
});

window.addEventListener("beforeunload", (event) => {
  if (turn !== keptTurn) event.preventDefault();
});

const readings = new Readings(document.getElementById("readings"), {
  onLight: (i) => { lit = i; paint(); },
  onRemove: (list, i) => { drawn[list].splice(i, 1); changed(); },
  onLabel: (i, words) => { drawn.marks[i].label = words; changed(); },
});
const profile = new Profile(document.getElementById("profile"), (point) => {
  station = point;
  if (point) picture.show(point);
  paint();
});

async function start() {
  const answer = await fetch(`${path}/report`);
  if (!answer.ok) return say(await answer.text(), true);
  const told = await answer.json();
  picture = new Picture(stage, path, told.levels, told.tile_px);
  loupe = new Loupe(stage, picture);
  stage.append(over);
  drawn = told.drawn;
  history = [copy(drawn)];
  picture.changed = () => { paint(); if (cross && tool) loupe.show(cross); };
  let laid = stage.clientWidth;
  new ResizeObserver(() => {
    if (stage.clientWidth === laid) return;
    laid = stage.clientWidth;
    picture.whole();
  }).observe(stage);
  take(told);
  bench.dataset.ready = "yes";
}
start();
