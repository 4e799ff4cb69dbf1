// SPDX-License-Identifier: Apache-2.0
// Pictures of the real pages, for the documentation.
// Usage: node make_screens.mjs PROGRAM FOLDER
import { join } from "node:path";

import { Bench, browserLibrary, openBrowser, photo } from "./bench.mjs";

const [program, folder] = process.argv.slice(2);
const chromium = await browserLibrary();
const bench = new Bench(program);
const browser = await openBrowser(chromium);
try {
  for (const mark of ["KT-R014", "KT-R022", "KT-R031"]) bench.addRope(mark);
  const hold = (mark, seen) => JSON.parse(bench.run("hold", "open", mark, "--seen", seen, "--json")).number;
  const number = hold("KT-R014", "Sheath fibres broken over some 3 cm, found while coiling");
  hold("KT-R022", "White core seen through the sheath at 4 m");
  hold("KT-R031", "Stiff for a hand's width after the wet week");
  bench.run("finding", "add", number, "--kind", "heavy_fray", "--at", "12.6m", "--side", "label side", "--words", "fibres stand off all round, no core felt");
  for (const [name, role] of [["arbolane-label.jpg", "label"], ["arbolane-whole.jpg", "whole_item"], ["arbolane-fray-near-side.jpg", "close_up"]])
    bench.run("photo", "add", number, photo(name), "--role", role);
  bench.run("maker", "add", "Brandel & Voss Ropeworks", "--address", "gear@brandelvoss.example", "--reply-days", "21");
  bench.run("photo", "add", number, photo("arbolane-fray-far-side.jpg"), "--role", "other_side");
  bench.run("photo", "waive", number, "second_view", "--reason", "seen whole from both sides");
  bench.run("query", "make", number, "--from", "Ida Fenwright <ida@korreltrees.example>", "--ask", "fit", "--outfit", "Korrel Tree Crew", "-o", join(bench.folder, "query.eml"));
  for (const mark of ["KT-S003", "KT-S004"])
    bench.run("item", "add", mark, "--kind", "sewn_sling", "--maker", "Kestrel Loom", "--model", "Broadleaf 25", "--made", "2024-05", "--kit", "bag 1");
  bench.run("item", "edit", "KT-R031", "--kit", "bag 1");
  bench.run("item", "add", "KT-R040", "--kind", "rope_low_stretch", "--maker", "Brandel & Voss Ropeworks", "--model", "Arbolane 11", "--length", "45m", "--size", "11", "--made", "2023-02", "--kit", "bag 1");
  bench.run("kit", "need", "bag 1", "sewn_sling", "3");
  const round = JSON.parse(bench.run("check", "start", "--kit", "bag 1", "--json")).number;
  bench.run("check", "begin", round, "KT-R040");
  bench.run("check", "step", round, "KT-R040", "label_and_identity", "--words", "label reads well");
  bench.run("check", "felt", round, "KT-R040", "--to", "18m");
  const { bench: base } = await bench.serve();
  const screen = async (name, path, width, height) => {
    const page = await browser.newPage({ locale: "en-GB", viewport: { width, height }, deviceScaleFactor: 1.5 });
    await page.goto(base + path);
    if (path.includes("/photo/")) await page.locator('#bench[data-ready="yes"]').waitFor();
    await page.waitForLoadState("networkidle");
    await page.screenshot({ path: join(folder, `${name}.png`) });
    await page.close();
  };
  await screen("bench-case", `/hold/${number}`, 1100, 980);
  await screen("bench-photo", `/hold/${number}/photo/3`, 1280, 1000);
  await screen("bench-letter", `/hold/${number}/query/1`, 1100, 900);
  await screen("bench-check", `/round/${round}/item?mark=KT-R040`, 1100, 900);
  await screen("bench-narrow-check", "/checks", 360, 740);
  await screen("bench-narrow-case", `/hold/${number}`, 360, 740);
  await screen("bench-narrow-photo", `/hold/${number}/photo/3`, 360, 740);
} finally {
  await browser.close();
  await bench.close();
}
