// SPDX-License-Identifier: Apache-2.0
// How long the hands have been at it, and that a rest is due.
const clock = document.getElementById("clock");
const rest = document.getElementById("rest");

function tell() {
  const minutes = Math.floor((Date.now() - Date.parse(clock.dataset.since)) / 60_000);
  clock.textContent = minutes < 1 ? "just begun" : `${minutes} min under the hands`;
  if (minutes < Number(clock.dataset.restAfter) || !rest.hidden) return;
  rest.textContent = `Rest your hands: ${minutes} minutes along the rope without a pause, and tired fingers miss things.`;
  rest.hidden = false;
}

if (clock?.dataset.since) {
  tell();
  setInterval(tell, 10_000);
}
