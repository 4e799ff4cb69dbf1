// SPDX-License-Identifier: Apache-2.0
// Says when a photo or finding has come in from a phone while the page is open.
import { tr } from "./words.js";

const place = document.querySelector("[data-pulse]");
const notice = document.getElementById("pulse");
let first = null;

async function look() {
  if (document.hidden) return;
  try {
    const answer = await fetch(place.dataset.pulse);
    if (!answer.ok) return;
    const now = await answer.text();
    first ??= now;
    if (now === first) return;
    notice.hidden = false;
    const link = document.createElement("a");
    link.href = location.pathname;
    link.textContent = tr("Show it");
    notice.replaceChildren(tr("Something new has come in."), " ", link);
    clearInterval(timer);
  } catch {
    // The bench was closed: the page stays as it is.
  }
}
const timer = setInterval(look, 3000);
look();
