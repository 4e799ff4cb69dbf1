// SPDX-License-Identifier: Apache-2.0
// The photo on its stage: scaled levels in tiles, moving and zooming, and the way between pixels of the upright
// picture (origin at the centre of the top left pixel) and those of the stage.
import { tr } from "./words.js";

const times = (m, [x, y]) => {
  const w = m[6] * x + m[7] * y + m[8];
  return [(m[0] * x + m[1] * y + m[2]) / w, (m[3] * x + m[4] * y + m[5]) / w];
};

const inverse = (m) => {
  const [a, b, c, d, e, f, g, h, i] = m;
  return [e * i - f * h, c * h - b * i, b * f - c * e, f * g - d * i, a * i - c * g, c * d - a * f,
          d * h - e * g, b * g - a * h, a * e - b * d];
};

export class Picture {
  constructor(stage, path, levels, tilePx) {
    this.stage = stage;
    this.path = path;
    this.levels = levels;
    this.tilePx = tilePx;
    this.sheet = document.createElement("div");
    this.sheet.className = "sheet-of-tiles";
    stage.append(this.sheet);
    this.tiles = new Map();
    this.flat = null;
    this.scale = 1;
    this.x = 0;
    this.y = 0;
    this.changed = () => {};
    this.whole();
  }

  get size() {
    return this.flat ? [this.flat.image.naturalWidth, this.flat.image.naturalHeight] : this.levels[0];
  }

  whole() {
    const [w, h] = this.size;
    this.scale = Math.min(this.stage.clientWidth / w, this.stage.clientHeight / h);
    this.x = (this.stage.clientWidth - w * this.scale) / 2;
    this.y = (this.stage.clientHeight - h * this.scale) / 2;
    this.render();
  }

  zoomAt([sx, sy], factor) {
    const [w, h] = this.size;
    const least = 0.6 * Math.min(this.stage.clientWidth / w, this.stage.clientHeight / h);
    const scale = Math.min(Math.max(this.scale * factor, least), 16);
    this.x = sx - (sx - this.x) * scale / this.scale;
    this.y = sy - (sy - this.y) * scale / this.scale;
    this.scale = scale;
    this.render();
  }

  moveBy(dx, dy) {
    const [w, h] = this.size;
    const edge = 60;
    this.x = Math.min(Math.max(this.x + dx, edge - w * this.scale), this.stage.clientWidth - edge);
    this.y = Math.min(Math.max(this.y + dy, edge - h * this.scale), this.stage.clientHeight - edge);
    this.render();
  }

  // Brings a place of the picture into sight, where it is not.
  show(point) {
    const [sx, sy] = this.toStage(point);
    const margin = 30;
    const inside = sx > margin && sy > margin && sx < this.stage.clientWidth - margin &&
                   sy < this.stage.clientHeight - margin;
    if (!inside) this.moveBy(this.stage.clientWidth / 2 - sx, this.stage.clientHeight / 2 - sy);
  }

  toStage(point) {
    const [x, y] = this.flat ? times(this.flat.flatFromPicture, point) : point;
    return [(x + 0.5) * this.scale + this.x, (y + 0.5) * this.scale + this.y];
  }

  fromStage([sx, sy]) {
    const point = [(sx - this.x) / this.scale - 0.5, (sy - this.y) / this.scale - 0.5];
    return this.flat ? times(this.flat.pictureFromFlat, point) : point;
  }

  // The bench laid flat by the server, or the photo again where nothing is given.
  async layFlat(corners) {
    if (!corners) {
      if (this.flat) URL.revokeObjectURL(this.flat.image.src);
      this.flat = null;
    } else {
      const answer = await fetch(`${this.path}/flat?corners=${corners.flat().join(",")}`);
      if (!answer.ok) throw new Error(tr("These corners are no card seen from above."));
      const image = new Image();
      image.src = URL.createObjectURL(await answer.blob());
      await image.decode();
      const pictureFromFlat = JSON.parse(answer.headers.get("X-Frayhold-Picture-From-Flat"));
      if (this.flat) URL.revokeObjectURL(this.flat.image.src);
      const had = this.flat !== null;
      this.flat = { image, pictureFromFlat, flatFromPicture: inverse(pictureFromFlat) };
      if (had) return this.refill();
    }
    this.refill();
    this.whole();
  }

  refill() {
    this.sheet.replaceChildren();
    this.tiles.clear();
    if (this.flat) {
      this.flat.image.alt = "";
      this.sheet.append(this.flat.image);
    }
    this.render();
  }

  render() {
    this.sheet.style.transform = `translate(${this.x}px, ${this.y}px) scale(${this.scale})`;
    if (!this.flat) this.layTiles();
    this.changed();
  }

  layTiles() {
    const [fullW, fullH] = this.levels[0];
    const wanted = fullW * this.scale * Math.min(window.devicePixelRatio || 1, 2);
    let level = 0;
    while (level + 1 < this.levels.length && this.levels[level + 1][0] >= wanted) ++level;
    const last = this.levels.length - 1;
    this.layLevel(last, 0, 0, fullW, fullH);
    const left = -this.x / this.scale, top = -this.y / this.scale;
    this.layLevel(level, left, top, left + this.stage.clientWidth / this.scale,
                  top + this.stage.clientHeight / this.scale);
    const most = 160;
    for (const [key, tile] of this.tiles) {
      if (this.tiles.size <= most) break;
      if (tile.level === last || tile.level === level) continue;
      tile.image.remove();
      this.tiles.delete(key);
    }
  }

  layLevel(level, left, top, right, bottom) {
    const [fullW, fullH] = this.levels[0];
    const [w, h] = this.levels[level];
    const fx = fullW / w, fy = fullH / h, side = this.tilePx;
    const from = (value, factor) => Math.max(0, Math.floor(value / factor / side));
    const to = (value, factor, size) => Math.min(Math.ceil(size / side) - 1, Math.floor(value / factor / side));
    for (let row = from(top, fy); row <= to(bottom, fy, h); ++row)
      for (let column = from(left, fx); column <= to(right, fx, w); ++column) {
        const key = `${level}/${column}/${row}`;
        if (this.tiles.has(key)) continue;
        const image = new Image();
        image.alt = "";
        image.draggable = false;
        image.src = `${this.path}/tile/${key}`;
        image.style.left = `${column * side * fx}px`;
        image.style.top = `${row * side * fy}px`;
        image.style.width = `${Math.min(side, w - column * side) * fx}px`;
        image.style.height = `${Math.min(side, h - row * side) * fy}px`;
        image.style.zIndex = String(this.levels.length - level);
        this.tiles.set(key, { image, level });
        this.sheet.append(image);
      }
  }

  // What lies under a place of the stage at full size: the image and the place in it.
  sourceAt(stagePoint) {
    const px = (stagePoint[0] - this.x) / this.scale, py = (stagePoint[1] - this.y) / this.scale;
    if (this.flat) return [{ image: this.flat.image, x: px, y: py }];
    const side = this.tilePx, near = 24, list = [];
    const [w, h] = this.levels[0];
    for (let row = Math.floor((py - near) / side); row <= Math.floor((py + near) / side); ++row)
      for (let column = Math.floor((px - near) / side); column <= Math.floor((px + near) / side); ++column) {
        if (row < 0 || column < 0 || column * side >= w || row * side >= h) continue;
        list.push({ image: this.fullTile(column, row), x: px - column * side, y: py - row * side });
      }
    return list;
  }

  fullTile(column, row) {
    this.full ??= new Map();
    const key = `${column}/${row}`;
    if (!this.full.has(key)) {
      const image = new Image();
      image.src = `${this.path}/tile/0/${key}`;
      image.addEventListener("load", () => this.changed());
      this.full.set(key, image);
      if (this.full.size > 24) this.full.delete(this.full.keys().next().value);
    }
    return this.full.get(key);
  }
}
