// SPDX-License-Identifier: Apache-2.0
// A person's way through the bench in a real browser, narrow and wide.
// Usage: node browser_test.mjs PROGRAM
import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";

import { Bench, browserLibrary, decider, openBrowser, photo } from "./bench.mjs";

const program = process.argv[2];
const chromium = await browserLibrary();
const axe = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
const bench = new Bench(program);
const browser = await openBrowser(chromium);
const started = performance.now();
let passed = 0;
const patience = 90_000;  // a busy machine measures slowly

async function step(words, work) {
  const before = performance.now();
  await work();
  ++passed;
  console.log(`ok   ${words} (${((performance.now() - before) / 1000).toFixed(1)} s)`);
}

const hostile = `From: gear@brandelvoss.example\r
To: ida@korreltrees.example\r
Subject: Re: <script>document.title='taken'</script>\r
Message-ID: <hostile@brandelvoss.example>\r
Date: Sat, 28 Feb 2026 10:00:00 +0000\r
MIME-Version: 1.0\r
Content-Type: multipart/mixed; boundary=b\r
\r
--b\r
Content-Type: text/html; charset=utf-8\r
\r
<html><body onload="document.title='taken'"><script>document.title='taken'</script><p>Cut it out.</p>\r
<img src="http://elsewhere.example/pixel.png"><iframe src="http://elsewhere.example/"></iframe>\r
<form action="http://elsewhere.example/"><input name="word"><button>Log in</button></form>\r
<a href="javascript:document.title='taken'">here</a><style>body{display:none}</style></body></html>\r
--b\r
Content-Type: text/html; name="../../page.html"\r
Content-Disposition: attachment; filename="../../page.html"\r
\r
<script>document.title='taken'</script>\r
--b--\r
`;

// Every request of every page; only this machine may be asked.
const outside = [];
async function context(options, ...allowed) {
  const made = await browser.newContext({ locale: "en-GB", ...options });
  await made.route("**/*", (route) => {
    const url = route.request().url();
    if (allowed.some((base) => url.startsWith(`${base}/`)) || url.startsWith("blob:") || url.startsWith("data:")) return route.continue();
    outside.push(url);
    return route.abort();
  });
  return made;
}

// No serious finding by axe-core, and nothing wider than the window, whatever its language.
async function checkForm(page, name) {
  await page.evaluate(axe);
  const found = await page.evaluate(() => axe.run(document, { resultTypes: ["violations"] }));
  const serious = found.violations.filter((each) => ["serious", "critical"].includes(each.impact));
  assert.deepEqual(serious.map((each) => `${name}: ${each.id}: ${each.nodes[0].target} ${each.nodes[0].failureSummary}`), []);
  assert.ok(await page.evaluate(() => document.documentElement.scrollWidth <= innerWidth), `${name} is wider than the window`);
}

async function check(page, name) {
  await checkForm(page, name);
  assert.ok((await page.locator("footer.caution").innerText()).includes("competent person come first"), name);
}

const go = async (page, work) => Promise.all([page.waitForEvent("load"), work()]);

// A page of this width on the bench, and the faults its scripts report.
async function openPage(width, base) {
  const pages = await context({ viewport: { width, height: width < 600 ? 740 : 900 }, acceptDownloads: true }, base);
  pages.setDefaultTimeout(patience);
  const page = await pages.newPage();
  const faults = [];
  page.on("pageerror", (fault) => faults.push(fault.message));
  return { pages, page, faults };
}

async function wholeCase(width, mark) {
  const { bench: base } = addresses;
  const { pages, page, faults } = await openPage(width, base);
  const narrow = width < 600;

  await step(`${width}: a hold is opened by its form, keyboard alone`, async () => {
    await page.goto(`${base}/`);
    await check(page, "queue");
    await go(page, () => page.getByRole("link", { name: "Put an item on hold" }).press("Enter"));
    await check(page, "new hold");
    await page.getByLabel("The item's own mark").fill("NO-SUCH");
    await page.getByLabel("What was seen").fill("Sheath fibres broken over some 3 cm");
    await go(page, () => page.keyboard.press("Tab").then(() => page.keyboard.press("Enter")));
    assert.match(await page.getByRole("alert").innerText(), /no such item/);
    await page.getByLabel("The item's own mark").fill(mark);
    await go(page, () => page.getByRole("button", { name: "Take it out of service" }).press("Enter"));
    await check(page, "case");
    assert.equal(await page.getByRole("heading", { level: 1 }).getByRole("link").innerText(), mark);
  });
  const hold = new URL(page.url()).pathname;

  await step(`${width}: what the hands felt`, async () => {
    await page.goto(`${base}${hold}/finding`);
    await page.getByLabel("Heavily frayed").check();
    await page.getByLabel("How far from the marked end?").fill("12,6 m");
    await page.getByLabel("More, in your words").fill("fibres stand off all round");
    await check(page, "finding");
    await go(page, () => page.getByRole("button", { name: "Record it" }).click());
    assert.ok(await page.getByText("fibres stand off all round").isVisible());
  });

  const addPhoto = async (role, name) => {
    await page.goto(`${base}${hold}/photo?role=${role}`);
    await page.locator('input[name="photo"]').setInputFiles(photo(name));
    await go(page, () => page.locator("#photo-form button").click());
  };
  await step(`${width}: photos, one of them refused at once`, async () => {
    await page.goto(`${base}${hold}`);
    await go(page, () => page.locator(".next .button").click());
    await check(page, "add photo");
    await addPhoto("close_up", narrow ? "refused-no-card.jpg" : "refused-blurred.jpg");
    await check(page, "photo told");
    const told = await page.getByRole("status").first().innerText();
    assert.match(told, narrow ? /Card not found: take it again/ : /Take it again[^]*blurred/);
    await addPhoto("close_up", "arbolane-fray-near-side.jpg");
    assert.match(await page.getByRole("status").first().innerText(), /It serves[^]*sound width[^]*± [\d.]+ mm/);
  });

  await step(`${width}: views that cannot be had are stated with a reason`, async () => {
    await page.goto(`${base}${hold}`);
    for (let left = 4; left > 0; --left) {
      await page.getByText("it cannot be had").first().click();
      await page.getByLabel("Why not?").first().fill("worn off");
      await go(page, () => page.getByRole("button", { name: "State it" }).first().click());
    }
    assert.match(await page.locator(".state").innerText(), /ready/);
    await check(page, "case with photos");
  });

  await step(`${width}: a corner dragged gives the numbers of 'frayhold gauge --corners'`, () => corner(page, `${base}${hold}/photo/2`));
  await step(`${width}: drawing, undo, laying flat, keeping`, () => drawing(page, `${base}${hold}/photo/2`, narrow));

  await step(`${width}: asking the maker`, async () => {
    await page.goto(`${base}${hold}/ask`);
    await check(page, "ask");
    assert.match(await page.locator(".disclosed").first().innerText(), /Names\s+Ida Fenwright/);
    if (narrow) {
      // The maker's book was filled in at the other width.
      assert.equal(await page.getByLabel("The maker's address").inputValue(), "gear@brandelvoss.example");
      assert.equal(await page.getByLabel("Days until you ask again").inputValue(), "21");
    } else {
      await go(page, () => page.getByRole("link", { name: "enter how they are asked" }).click());
      await page.getByLabel("Where to write").fill("gear@brandelvoss.example");
      await page.getByLabel("Days they usually take").fill("21");
      await check(page, "maker");
      await go(page, () => page.getByRole("button", { name: "Keep it" }).click());
      await check(page, "letters");
      await page.goto(`${base}${hold}/ask`);
    }
    await page.getByLabel("The maker's address").fill("no address");
    await page.getByLabel("Your address").fill("ida@korreltrees.example");
    await go(page, () => page.getByRole("button", { name: "Write the letter" }).click());
    assert.ok(await page.getByRole("alert").isVisible());
    await page.getByLabel("The maker's address").fill("gear@brandelvoss.example");
    await go(page, () => page.getByRole("button", { name: "Write the letter" }).click());
    await check(page, "letter");
    assert.match(await page.locator(".mail").innerText(), new RegExp(mark));
    const [saved] = await Promise.all([page.waitForEvent("download"), page.getByRole("link", { name: "Save the mail" }).click()]);
    assert.match(readFileSync(await saved.path(), "utf8"), /^(From|Date|Subject|To|Message-ID|MIME-Version)/m);
    // Into the outbox and out again, then by hand.
    await go(page, () => page.getByRole("button", { name: "Put it into the outbox" }).click());
    assert.match(await page.locator(".notice").innerText(), /waiting to be sent/);
    await check(page, "letter in the outbox");
    await page.goto(`${base}${hold}`);
    assert.match(await page.locator(".thread").innerText(), /waiting to be sent/);
    await go(page, () => page.locator(".thread").getByRole("link", { name: "Letter 1" }).click());
    await go(page, () => page.getByRole("button", { name: "Take it back" }).click());
    await page.getByText("Send it by hand instead").click();
    await go(page, () => page.getByRole("button", { name: "I have sent it" }).click());
    await page.goto(`${base}${hold}`);
    assert.match(await page.locator(".state").innerText(), /asked/);
    await check(page, "case in its thread");
  });

  await step(`${width}: a hostile reply is harmless`, async () => {
    await page.goto(`${base}${hold}/reply`);
    await check(page, "add reply");
    await page.getByLabel("The mail, saved").setInputFiles(bench.file(`reply-${width}.eml`, hostile));
    await go(page, () => page.getByRole("button", { name: "Keep it" }).click());
    await check(page, "reply");
    assert.match(await page.title(), /^Reply/);
    assert.match(await page.locator(".mail").innerText(), /Cut it out/);
    assert.equal(await page.locator("main iframe, main img, main style, main .mail *").count(), 0);
    assert.equal(await page.locator('a[href^="javascript:"], [onload], form[action^="http"]').count(), 0);
    const [saved] = await Promise.all([page.waitForEvent("download"), page.getByRole("link", { name: "page.html" }).click()]);
    assert.equal(saved.suggestedFilename(), "page.html");
    await page.locator('input[value="not_fit"]').check();
    await page.getByLabel("The passage it was read from").fill("Cut it out.");
    await go(page, () => page.getByRole("button", { name: "Enter the answer" }).click());
    assert.match(await page.locator(".state").innerText(), /answered/);
  });

  await step(`${width}: the verdict, refused and then given`, async () => {
    await go(page, () => page.locator(".next .button").click());
    await check(page, "verdict");
    await page.getByLabel("Who decides").fill(decider);
    await page.locator('input[value="return_to_service"]').check();
    await go(page, () => page.getByRole("button", { name: "Give the verdict" }).click());
    assert.match(await page.getByRole("alert").innerText(), /goes against the rules/);
    assert.equal(await page.getByLabel("Who decides").inputValue(), decider);
    await page.locator('input[value="retire_and_destroy"]').check();
    await page.getByLabel("Why, in your own words").fill("the maker says it is not fit");
    await go(page, () => page.getByRole("button", { name: "Give the verdict" }).click());
    assert.match(await page.locator(".verdict").innerText(), new RegExp(decider));
    await check(page, "closed case");
    await page.goto(`${base}/item?mark=${mark}`);
    assert.match(await page.locator(".state").innerText(), /retired/);
    await check(page, "item");
    await page.goto(`${base}/?words=${mark}&state=verdict`);
    assert.equal(await page.locator(".queue li").count(), 1);
  });
  assert.deepEqual(faults, []);
  await pages.close();
}

// Items, kits, checks, things to print and charts.
async function register(width) {
  const { bench: base } = addresses;
  const { pages, page, faults } = await openPage(width, base);
  const mark = `KT-S${width}`, kit = `bag ${width}`;
  const open = async (path, name) => {
    await page.goto(base + path);
    await check(page, name);
  };

  await step(`${width}: an item is entered, found and changed`, async () => {
    await open("/items", "items");
    await go(page, () => page.getByRole("link", { name: "Enter an item" }).click());
    await check(page, "item form");
    await page.getByLabel("Your own mark").fill(mark);
    await page.getByLabel("Kind", { exact: true }).selectOption("sewn_sling");
    await page.getByLabel("Maker", { exact: true }).fill("Kestrel Loom");
    await page.getByLabel("Model").fill("Broadleaf 25");
    await page.getByLabel("Made", { exact: true }).fill("last spring");
    await page.getByLabel("Kit it belongs to").fill(kit);
    await go(page, () => page.getByRole("button", { name: "Enter it" }).click());
    assert.match(await page.getByRole("alert").innerText(), /last spring/);
    await page.getByLabel("Made", { exact: true }).fill("2024-05");
    await go(page, () => page.getByRole("button", { name: "Enter it" }).click());
    await check(page, "new item");
    await page.goto(`${base}/items`);
    await page.getByRole("searchbox").fill(`kestrel ${mark.toLowerCase()}`);
    await go(page, () => page.getByRole("button", { name: "Find" }).click());
    assert.equal(await page.locator(".rows li").count(), 1);
  });

  await step(`${width}: a file comes in after its columns were looked over`, async () => {
    await open("/items/in", "file");
    const csv = `Own no.,Sort,Maker,Bag\r\n${mark}-B,sewn_sling,Kestrel Loom,${kit}\r\n`;
    await page.locator('input[type="file"]').setInputFiles(bench.file(`items-${width}.csv`, csv));
    await go(page, () => page.getByRole("button", { name: "Look it over" }).click());
    assert.match(await page.getByRole("alert").innerText(), /none of its columns/);
    for (const [column, field] of [["Own no.", "mark"], ["Sort", "kind"], ["Bag", "kit"]])
      await page.getByLabel(column, { exact: true }).selectOption(field);
    await go(page, () => page.getByRole("button", { name: "Look again" }).click());
    await check(page, "columns");
    assert.match(await page.locator("#h-items").innerText(), /1 item would come in/);
    await go(page, () => page.getByRole("button", { name: "Bring them in" }).click());
    await page.goto(`${base}/items?kit=${encodeURIComponent(kit)}`);
    assert.equal(await page.locator(".rows li").count(), 2);
  });

  await step(`${width}: a kit is short and says so`, async () => {
    await page.goto(`${base}/kit?name=${encodeURIComponent(kit)}`);
    await page.getByLabel("Kind", { exact: true }).selectOption("sewn_sling");
    await page.getByLabel("How many in service").fill("3");
    await go(page, () => page.getByRole("button", { name: "Set it" }).click());
    await check(page, "kit");
    assert.match(await page.locator(".fault").innerText(), /1 of sewn sling/);
    await open("/kits", "kits");
  });

  await step(`${width}: a round of checks, step by step`, async () => {
    await open("/checks", "checks");
    const start = page.locator('form:has(input[name="over"])');
    if (!(await start.isVisible())) await page.getByText("Start a round").click();
    await start.getByLabel("Kit", { exact: true }).fill(kit);
    await go(page, () => page.getByRole("button", { name: "Start it" }).click());
    await check(page, "round");
    const round = new URL(page.url()).pathname;
    await go(page, () => page.getByRole("link", { name: `Begin with ${mark}` }).click());
    await check(page, "check before it begins");
    await go(page, () => page.getByRole("button", { name: "Begin" }).press("Enter"));
    await check(page, "check");
    const doStep = () => go(page, () => page.locator(".steps .now button").first().click());
    await doStep();
    await page.locator("#result").getByLabel("keep", { exact: true }).check();
    await go(page, () => page.getByRole("button", { name: "Give the result" }).click());
    assert.match(await page.getByRole("alert").innerText(), /not finished/);
    await go(page, () => page.getByRole("button", { name: "Pause" }).click());
    await go(page, () => page.getByRole("button", { name: "Go on" }).click());
    for (let left = 3; left > 0; --left) await doStep();
    await page.locator("#result").getByLabel("keep", { exact: true }).check();
    await go(page, () => page.getByRole("button", { name: "Give the result" }).click());
    assert.match(await page.locator(".verdict").innerText(), /keep/);
    await go(page, () => page.getByRole("link", { name: `Next: ${mark}-B` }).click());
    await go(page, () => page.getByRole("button", { name: "Begin" }).click());
    await page.getByText("Note a finding").click();
    await page.getByLabel("Stiff").first().check();
    await page.getByLabel("How far from the marked end?").fill("20 cm");
    await check(page, "finding in a check");
    await go(page, () => page.getByRole("button", { name: "Record it" }).click());
    await page.locator('#result input[value="hold"]').check();
    await page.getByLabel("What to watch, or why").fill("stiff at the eye");
    await go(page, () => page.getByRole("button", { name: "Give the result" }).click());
    assert.match(await page.locator(".verdict").innerText(), /On hold: H-/);
    await check(page, "check with its result");
    await page.goto(base + round);
    await go(page, () => page.getByRole("button", { name: "End the round" }).click());
    await check(page, "round that ended");
    await open(`/item?mark=${mark}-B`, "item after its check");
    assert.match(await page.locator("main").innerText(), /stiff at the eye/);
  });

  await step(`${width}: labels, records and charts`, async () => {
    await open("/print", "print");
    for (const path of [`/print/labels?marks=${mark}`, `/print/shelf?kit=${encodeURIComponent(kit)}`, `/item/record?mark=${mark}&year=${new Date().getUTCFullYear()}`]) {
      const answer = await page.request.get(base + path);
      assert.equal(answer.headers()["content-type"], "application/pdf", path);
    }
    await open("/charts", "charts");
    assert.equal(await page.locator(".chart svg").count(), 7);
    for (const [path, name] of [["/items/lives", "lives"], ["/items/destroyed", "destroyed"], ["/checks/intervals", "intervals"], ["/batch", "notice"], ["/post", "letters"]])
      await open(path, name);
  });
  assert.deepEqual(faults, []);
  await pages.close();
}

const ready = async (page, address) => {
  await page.goto(address);
  await page.locator('#bench[data-ready="yes"]').waitFor();
};
// Until the server has answered what was last asked.
const settled = (page) => page.waitForFunction(() => !document.getElementById("bench").hasAttribute("aria-busy"));
const words = (page, quantity) => page.locator(`.reading[data-quantity="${quantity}"] .value`).first().innerText();

async function corner(page, address) {
  await ready(page, address);
  const before = await words(page, "sound_width");
  const handle = page.locator(".handle").nth(1);
  await handle.scrollIntoViewIfNeeded();
  const middle = async () => {
    const box = await handle.boundingBox();
    return [box.x + box.width / 2, box.y + box.height / 2];
  };
  await page.mouse.move(...(await middle()));
  await page.mouse.wheel(0, -1400);
  await page.waitForFunction(() => Number(document.querySelector(".sheet-of-tiles").style.transform.match(/scale\((.+)\)/)[1]) > 0.8);
  const from = await middle();
  await page.mouse.move(...from);
  await page.mouse.down();
  for (let i = 1; i <= 6; ++i) await page.mouse.move(from[0] + 2 * i, from[1] + i);
  await page.mouse.up();
  await settled(page);
  assert.notEqual(await words(page, "sound_width"), before);
  const label = (i) => page.locator(".handle").nth(i).getAttribute("aria-label");
  assert.match(await label(1), /Card corner top right/);

  await page.getByRole("button", { name: "Keep what is drawn" }).click();
  await page.getByText("Kept with the photo.").waitFor();
  await page.reload();
  await page.locator('#bench[data-ready="yes"]').waitFor();
  const kept = await page.evaluate(() => fetch(`${document.getElementById("bench").dataset.path}/report`).then((answer) => answer.json()));
  const corners = kept.drawn.corners.flat().join(",");
  const told = JSON.parse(execFileSync(program, ["gauge", photo("arbolane-fray-near-side.jpg"), "--subject", "rope", "--nominal", "11", "--corners", corners, "--json"], { encoding: "utf8" }));
  const readings = told.readings.filter((each) => each.value_mm !== undefined);
  assert.ok(readings.length > 2);
  for (const reading of readings) {
    const shown = kept.readings.find((each) => each.quantity === reading.quantity);
    assert.ok(Math.abs(shown.value_mm - reading.value_mm) < 1e-9 && Math.abs(shown.U - reading.U) < 1e-9, reading.quantity);
    const [value, uncertainty] = (await words(page, reading.quantity)).match(/[\d.]+/g).map(Number);
    assert.ok(Math.abs(value - reading.value_mm) <= 0.5 * 10 ** -Math.max(0, 1 - Math.floor(Math.log10(reading.U))) + 1e-9, reading.quantity);
    assert.ok(Math.abs(uncertainty / reading.U - 1) < 0.06, reading.quantity);
  }
}

async function drawing(page, address, narrow) {
  await ready(page, address);
  await check(page, "photo bench");
  const stage = page.locator("#stage");
  // A click at a share of the stage's width and height.
  const click = async (x, y) => {
    await stage.scrollIntoViewIfNeeded();
    const box = await stage.boundingBox();
    await page.mouse.click(box.x + box.width * x, box.y + box.height * y);
  };
  await page.keyboard.press("d");
  assert.equal(await page.getByRole("button", { name: "Distance" }).getAttribute("aria-pressed"), "true");
  await click(0.45, 0.4);
  assert.ok(await page.locator(".loupe").isVisible());
  await click(0.55, 0.4);
  await settled(page);
  await page.locator('.reading[data-quantity="distance"]').waitFor();
  assert.match(await words(page, "distance"), /^[\d.]+ ± [\d.]+ mm$/);
  // Its budget is one click away.
  await page.locator('.reading[data-quantity="distance"] summary').click();
  assert.ok(await page.getByText("the hand's pick").isVisible());

  await page.keyboard.press("a");
  for (const [x, y] of [[0.4, 0.5], [0.5, 0.5], [0.5, 0.6]]) await click(x, y);
  await stage.focus();
  await page.keyboard.press("Enter");
  await page.locator('.reading[data-quantity="area"]').waitFor();
  await page.keyboard.press("Escape");
  await page.keyboard.press("Control+z");
  await settled(page);
  assert.equal(await page.locator('.reading[data-quantity="area"]').count(), 0);
  await page.keyboard.press("Control+y");
  await page.locator('.reading[data-quantity="area"]').waitFor();

  // By keys alone: words pinned at the cross, then a corner.
  await page.keyboard.press("w");
  await page.keyboard.press("ArrowRight");
  await page.keyboard.press("Space");
  await page.getByLabel("What is seen there?").fill("glazed here");
  await page.keyboard.press("Enter");
  await page.getByText("1. glazed here").first().waitFor();
  await page.keyboard.press("Escape");
  const handle = page.locator(".handle").first();
  const label = await handle.getAttribute("aria-label");
  await handle.focus();
  await page.keyboard.press("ArrowLeft");
  assert.notEqual(await handle.getAttribute("aria-label"), label);
  await settled(page);

  const flat = page.getByRole("button", { name: "Lay flat" });
  await flat.click();
  await page.waitForFunction(() => document.querySelector('[data-act="flat"]').getAttribute("aria-pressed") === "true");
  await flat.click();
  await page.getByRole("button", { name: "Catch edges" }).click();
  await page.getByRole("slider", { name: "Station along the item" }).press("ArrowRight");
  assert.match(await page.locator("#station").innerText(), /mm along the item/);
  assert.equal(await page.locator(".station").count(), 1);
  await stage.hover();
  const zoom = () => page.locator(".sheet-of-tiles").evaluate((sheet) => sheet.style.transform);
  const before = await zoom();
  await page.mouse.wheel(0, -300);
  await page.waitForFunction((was) => document.querySelector(".sheet-of-tiles").style.transform !== was, before);

  await page.getByRole("button", { name: "Keep what is drawn" }).click();
  await page.getByText("Kept with the photo.").waitFor();
  const annotations = await page.evaluate(() => fetch(`${document.getElementById("bench").dataset.path}/annotations`).then((answer) => answer.json()));
  assert.deepEqual(annotations.items.map((each) => each.body[0].value).sort(), ["area", "card", "distance", "pin"]);
  if (narrow) await page.emulateMedia({ media: "print" });
  await page.emulateMedia({ media: "screen" });
}

async function phone() {
  const { bench: base, pairing } = addresses;
  const net = new URL(pairing).origin;
  const options = { viewport: { width: 360, height: 740 }, hasTouch: true, isMobile: true, ignoreHTTPSErrors: true };
  const stranger = await context(options, net), paired = await context(options, net);
  paired.setDefaultTimeout(patience);
  await step("phone: one that is not paired gets nothing", async () => {
    const page = await stranger.newPage();
    for (const path of ["/", "/hold/H-2026-0001", "/assets/frayhold.css", "/pair?code=AAAAAAAAAA"]) {
      const answer = await page.goto(net + path);
      assert.equal(answer.status(), 403, path);
      assert.ok(!(await answer.text()).includes("<"), path);
    }
  });
  const page = await paired.newPage();
  await step("phone: pairs by the printed code and takes a photo into the open hold", async () => {
    await page.goto(pairing);
    await page.evaluate(axe);
    await page.getByLabel("Your name").fill("Ida Fenwright");
    await page.getByLabel("A name for this phone").fill("yard phone");
    await go(page, () => page.getByRole("button", { name: "Pair it" }).click());
    assert.equal(new URL(page.url()).pathname, "/");
    await check(page, "queue on the phone");
    await go(page, () => page.locator(".queue .line").first().click());
    await check(page, "case on the phone");
    await go(page, () => page.locator(".next .button").click());
    assert.equal(await page.locator('input[capture="environment"]').count(), 1);
    await page.locator('input[name="photo"]').setInputFiles(photo("arbolane-label.jpg"));
    await go(page, () => page.getByRole("button", { name: "Send it" }).click());
    assert.match(await page.getByRole("status").first().innerText(), /It serves/);
    for (const path of ["/phones", "/hold/new", `${new URL(page.url()).pathname.split("/").slice(0, 3).join("/")}/verdict`])
      assert.equal((await page.goto(net + path)).status(), 403, path);
    await check(page, "what is not for a helper");
  });
  await step("phone: the bench lists it and revokes it", async () => {
    const desk = await (await context({ viewport: { width: 1440, height: 900 } }, base)).newPage();
    await desk.goto(`${base}/phones`);
    await check(desk, "phones");
    assert.ok(await desk.locator(".print").isVisible());
    await go(desk, () => desk.getByRole("button", { name: "Show a code for a phone" }).click());
    assert.ok(await desk.locator("svg.qr").isVisible());
    await check(desk, "phones with a code");
    await go(desk, () => desk.getByRole("button", { name: "Revoke yard phone" }).click());
    assert.equal((await page.goto(`${net}/`)).status(), 403);
  });
}

// The pages in every other language there is: chosen at a page's foot, kept, and put back.
async function languages(width) {
  const { bench: base } = addresses;
  const { pages, page, faults } = await openPage(width, base);
  await page.goto(`${base}/`);
  const hold = new URL(await page.locator(".queue .line").first().evaluate((line) => line.href)).pathname;
  const choice = page.locator("form.languages");
  const codes = await choice.locator("button").evaluateAll((buttons) => buttons.map((each) => each.value));
  assert.ok(codes.includes("en") && codes.length > 1, codes.join());
  for (const code of codes.filter((each) => each !== "en")) {
    await step(`${width}: in '${code}'`, async () => {
      await page.goto(`${base}/items?words=KT-R`);
      await go(page, () => choice.locator(`button[value="${code}"]`).press("Enter"));
      assert.equal(page.url(), `${base}/items?words=KT-R`);
      assert.equal(await choice.locator('[aria-current="true"]').getAttribute("value"), code);
      for (const path of ["/", "/hold/new", hold, `${hold}/finding`, `${hold}/photo`, `${hold}/ask`, `${hold}/reply`, `${hold}/verdict`,
                          "/items", "/items/new", "/checks", "/kits", "/post", "/charts", "/print", "/phones"]) {
        await page.goto(base + path);
        assert.equal(await page.locator("html").getAttribute("lang"), code);
        await checkForm(page, `${path} in ${code}`);
      }
      // What the scripts say comes with the page.
      const wrong = await page.evaluate(async () => {
        const { tr } = await import("/assets/words.js");
        const words = JSON.parse(document.getElementById("script-words").textContent);
        return Object.entries(words).filter(([english, translation]) => tr(english) !== translation);
      });
      assert.deepEqual(wrong, []);
      await go(page, () => choice.locator('button[value="en"]').click());
      await check(page, "in English again");
    });
  }
  assert.deepEqual(faults, []);
  await pages.close();
}

let addresses;
let fault = null;
try {
  for (const mark of ["KT-R360", "KT-R1440", "KT-R001"]) bench.addRope(mark);
  addresses = await bench.serve("--bench-net", "--address", "127.0.0.1", "--net-port", "0");
  await wholeCase(1440, "KT-R1440");
  await wholeCase(360, "KT-R360");
  await register(1440);
  await register(360);
  bench.run("hold", "open", "KT-R001", "--seen", "Sheath fibres broken, found while coiling");
  await languages(1440);
  await languages(360);
  await phone();
  await step("no request left the machine", async () => assert.deepEqual(outside, []));
} catch (found) {
  fault = found;
} finally {
  await browser.close();
  await bench.close();
}
if (fault) console.error(fault);
console.log(`${passed} passed, ${fault ? 1 : 0} failed (${((performance.now() - started) / 1000).toFixed(0)} s)`);
process.exit(fault ? 1 : 0);
