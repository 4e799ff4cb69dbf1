// SPDX-License-Identifier: Apache-2.0
// Measuring takes a moment: says so, and keeps the photo from being sent twice.
document.getElementById("photo-form").addEventListener("submit", (event) => {
  event.target.querySelector("button").disabled = true;
  document.getElementById("sending").hidden = false;
});
