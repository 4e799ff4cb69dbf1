// SPDX-License-Identifier: Apache-2.0
// A round glass over the picture: each pixel eight times its size, with a cross at the place picked.

const magnified = 8;

export class Loupe {
  constructor(stage, picture) {
    this.stage = stage;
    this.picture = picture;
    this.glass = document.createElement("div");
    this.glass.className = "loupe";
    this.glass.hidden = true;
    this.canvas = document.createElement("canvas");
    this.glass.append(this.canvas);
    stage.append(this.glass);
  }

  hide() {
    this.glass.hidden = true;
  }

  show(at) {
    this.glass.hidden = false;
    const side = this.glass.offsetWidth;
    const room = side + 24;
    const left = at[0] > this.stage.clientWidth / 2 ? at[0] - room : at[0] + 24;
    const top = at[1] > this.stage.clientHeight / 2 ? at[1] - room : at[1] + 24;
    this.glass.style.left = `${Math.min(Math.max(left, 4), this.stage.clientWidth - side - 4)}px`;
    this.glass.style.top = `${Math.min(Math.max(top, 4), this.stage.clientHeight - side - 4)}px`;
    this.paint(at, side);
  }

  paint(at, side) {
    this.canvas.width = side;
    this.canvas.height = side;
    const paper = this.canvas.getContext("2d");
    paper.imageSmoothingEnabled = false;
    for (const { image, x, y } of this.picture.sourceAt(at))
      if (image.complete && image.naturalWidth)
        paper.drawImage(image, side / 2 - x * magnified, side / 2 - y * magnified,
                        image.naturalWidth * magnified, image.naturalHeight * magnified);
    for (const [colour, width] of [["#000", 3], ["#fff", 1]]) {
      paper.strokeStyle = colour;
      paper.lineWidth = width;
      paper.beginPath();
      for (const [dx, dy] of [[1, 0], [-1, 0], [0, 1], [0, -1]]) {
        paper.moveTo(side / 2 + dx * 5, side / 2 + dy * 5);
        paper.lineTo(side / 2 + dx * 34, side / 2 + dy * 34);
      }
      paper.stroke();
    }
  }
}
