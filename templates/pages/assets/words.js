// SPDX-License-Identifier: Apache-2.0
// What the scripts say, in the language of the page: where that is not English, the layout holds the translations.
const block = document.getElementById("script-words");
const words = new Map(Object.entries(block ? JSON.parse(block.textContent) : {}));

// A text without fields.
export const tr = (english) => words.get(english) ?? english;

// One with fields: {} in their order, or {0} and {1} by their numbers.
export function trf(english, ...values) {
  let next = 0;
  return tr(english).replace(/\{(\d*)\}/g, (field, number) => String(values[number === "" ? next++ : Number(number)]));
}
