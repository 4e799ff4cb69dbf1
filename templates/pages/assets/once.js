// SPDX-License-Identifier: Apache-2.0
// A form that takes a moment says so and is not sent twice.
for (const form of document.querySelectorAll("form[data-once]"))
  form.addEventListener("submit", () => {
    const button = form.querySelector("button");
    button.disabled = true;
    button.textContent = form.dataset.once;
  });
