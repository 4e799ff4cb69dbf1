// SPDX-License-Identifier: Apache-2.0
// The width along the item as a drawing, tied to the picture: point at a station, see it there.
import { tr, trf } from "./words.js";

const ns = "http://www.w3.org/2000/svg";
const height = 230, left = 46, right = 12, top = 14, bottom = 34;

function shape(name, attributes, parent, text) {
  const element = document.createElementNS(ns, name);
  for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, value);
  if (text !== undefined) element.textContent = text;
  parent.append(element);
  return element;
}

// Round steps, about `count` of them.
function step(span, count) {
  const raw = span / count, power = 10 ** Math.floor(Math.log10(raw));
  return [1, 2, 5, 10].map((n) => n * power).find((n) => n >= raw);
}

export class Profile {
  constructor(section, onStation) {
    this.section = section;
    this.place = section.querySelector("#plot");
    this.told = section.querySelector("#station");
    this.onStation = onStation;
  }

  draw(profile) {
    const usable = profile && profile.station_mm.length > 2;
    this.section.hidden = !usable;
    if (!usable) return;
    this.profile = profile;
    const width = Math.min(Math.max(this.place.clientWidth, 300), 1100);
    const s = profile.station_mm, whole = [...profile.width_mm, ...profile.fray_mm];
    const most = Math.max(...whole) * 1.08;
    this.x = (value) => left + (value - s[0]) / (s[s.length - 1] - s[0]) * (width - left - right);
    const y = (value) => height - bottom - value / most * (height - top - bottom);
    const svg = document.createElementNS(ns, "svg");
    svg.setAttribute("viewBox", `0 0 ${width} ${height}`);
    svg.setAttribute("role", "img");
    svg.setAttribute("aria-label", tr("Width along the item, in millimetres: the item, the outermost fibres, the sound width"));
    const dy = step(most, 4), dx = step(s[s.length - 1] - s[0], width / 90);
    for (let v = 0; v <= most; v += dy) {
      shape("line", { class: "grid", x1: left, x2: width - right, y1: y(v), y2: y(v) }, svg);
      shape("text", { x: left - 6, y: y(v) + 4, "text-anchor": "end" }, svg, +v.toFixed(3));
    }
    for (let v = Math.ceil(s[0] / dx) * dx; v <= s[s.length - 1]; v += dx)
      shape("text", { x: this.x(v), y: height - 12, "text-anchor": "middle" }, svg, +v.toFixed(3));
    shape("text", { x: width - right, y: height - bottom - 5, "text-anchor": "end" }, svg, tr("mm along the item"));
    shape("text", { x: left + 6, y: top + 4 }, svg, tr("mm wide"));
    const path = (values) => values.map((v, i) => `${i ? "L" : "M"}${this.x(s[i]).toFixed(1)} ${y(v).toFixed(1)}`).join("");
    const back = profile.width_mm.map((v, i) => [i, v]).reverse()
      .map(([i, v]) => `L${this.x(s[i]).toFixed(1)} ${y(v).toFixed(1)}`).join("");
    shape("path", { class: "fray", d: `${path(profile.fray_mm)}${back}Z` }, svg);
    shape("path", { class: "width", d: path(profile.width_mm) }, svg);
    shape("line", { class: "base", x1: left, x2: width - right, y1: y(profile.baseline_mm), y2: y(profile.baseline_mm) }, svg);
    this.mark = shape("line", { class: "here", y1: top, y2: height - bottom, visibility: "hidden" }, svg);
    const pick = (event) => {
      const box = svg.getBoundingClientRect();
      const at = (event.clientX - box.left) / box.width * width;
      let nearest = 0;
      s.forEach((value, i) => { if (Math.abs(this.x(value) - at) < Math.abs(this.x(s[nearest]) - at)) nearest = i; });
      this.choose(nearest);
    };
    svg.addEventListener("pointerdown", pick);
    svg.addEventListener("pointermove", pick);

    const slider = document.createElement("input");
    slider.type = "range";
    slider.min = "0";
    slider.max = String(s.length - 1);
    slider.value = String(this.slider ? Math.min(this.slider.value, s.length - 1) : 0);
    slider.setAttribute("aria-label", tr("Station along the item"));
    slider.addEventListener("input", () => this.choose(Number(slider.value)));
    const focused = this.slider && document.activeElement === this.slider;
    this.slider = slider;
    this.place.replaceChildren(svg, slider);
    if (focused) slider.focus();
    if (!this.told.textContent)
      this.told.textContent = tr("Point at a station to see it in the picture. Dark: the item; red: the outermost fibres; dashed: the sound width. What is stated with its uncertainty stands among the readings.");
  }

  choose(i) {
    const s = this.profile.station_mm;
    this.slider.value = String(i);
    this.mark.setAttribute("x1", this.x(s[i]));
    this.mark.setAttribute("x2", this.x(s[i]));
    this.mark.setAttribute("visibility", "visible");
    this.told.textContent = trf("{} mm along the item", s[i].toFixed(0));
    this.slider.setAttribute("aria-valuetext", this.told.textContent);
    this.onStation(this.profile.centre_px?.[i] ?? null);
  }
}
