// SPDX-License-Identifier: Apache-2.0
// The list of readings, each with its budget one click away. Values come from the server as they are to be read.
import { tr, trf } from "./words.js";

function element(name, attributes = {}, ...children) {
  const made = document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
  made.append(...children);
  return made;
}

function budget(reading) {
  const rows = reading.budget.map((line) =>
    element("tr", {}, element("td", {}, line.source), element("td", {}, line.words), element("td", {}, `${line.share} %`)));
  return element("table", {},
    element("caption", { class: "unseen" }, trf("Uncertainty budget of {}", reading.name)),
    element("thead", {}, element("tr", {}, element("th", { scope: "col" }, tr("where the doubt comes from")),
      element("th", { scope: "col" }, "u"), element("th", { scope: "col" }, tr("share")))),
    element("tbody", {}, ...rows),
    element("tfoot", {}, element("tr", {}, element("td", { colspan: "3", class: "quiet" }, `U = k u, ${reading.k_words}`))));
}

export class Readings {
  constructor(place, { onLight, onRemove, onLabel }) {
    this.place = place;
    this.onLight = onLight;
    this.onRemove = onRemove;
    this.onLabel = onLabel;
    this.open = new Set();
  }

  draw(report, drawn, mayMark) {
    const rows = report.readings.map((reading, i) => {
      const hand = i - report.hand_from;
      const mark = hand >= 0 ? drawn.marks[hand] : null;
      const key = mark ? `hand ${hand}` : reading.quantity;
      const name = mark && mark.label ? `${reading.name}: ${mark.label}` : reading.name;
      const row = element("details", { class: "reading", "data-quantity": reading.quantity },
        element("summary", {}, element("span", { class: "reading-name" }, name), element("span", { class: "value" }, reading.words)),
        budget(reading));
      row.open = this.open.has(key);
      row.addEventListener("toggle", () => this.open[row.open ? "add" : "delete"](key));
      for (const event of ["pointerenter", "focusin"]) row.addEventListener(event, () => this.onLight(i));
      for (const event of ["pointerleave", "focusout"]) row.addEventListener(event, () => this.onLight(-1));
      if (mark && mayMark) {
        const label = element("input", { "aria-label": trf("Words for this {}", reading.name), placeholder: tr("words for it"), value: mark.label ?? "" });
        label.addEventListener("change", () => this.onLabel(hand, label.value));
        const remove = element("button", { type: "button", class: "remove quiet-button" }, tr("Take it off"));
        remove.addEventListener("click", () => this.onRemove("marks", hand));
        row.append(label, element("p", { class: "do" }, remove));
      }
      return row;
    });
    const pins = drawn.pins.map((pin, i) => {
      const row = element("p", { class: "do" }, element("span", {}, `${i + 1}. ${pin.words}`));
      if (mayMark) {
        const remove = element("button", { type: "button", class: "remove quiet-button", "aria-label": trf("Take off: {}", pin.words) }, tr("Take it off"));
        remove.addEventListener("click", () => this.onRemove("pins", i));
        row.append(remove);
      }
      return row;
    });
    const focused = this.place.contains(document.activeElement)
      ? [...this.place.querySelectorAll("summary")].indexOf(document.activeElement) : -1;
    this.place.replaceChildren(...rows, ...pins);
    if (focused >= 0) this.place.querySelectorAll("summary")[focused]?.focus();
  }
}
