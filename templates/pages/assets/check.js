// SPDX-License-Identifier: Apache-2.0
// How long the hands have been at it, and that a rest is due.
import { tr, trf } from "./words.js";

const clock = document.getElementById("clock");
const rest = document.getElementById("rest");

function tell() {
  const minutes = Math.floor((Date.now() - Date.parse(clock.dataset.since)) / 60_000);
  clock.textContent = minutes < 1 ? tr("just begun") : trf("{} min under the hands", minutes);
  if (minutes < Number(clock.dataset.restAfter) || !rest.hidden) return;
  rest.textContent = trf("Rest your hands: {} min along the rope without a pause, and tired fingers miss things.", minutes);
  rest.hidden = false;
}

if (clock?.dataset.since) {
  tell();
  setInterval(tell, 10_000);
}
