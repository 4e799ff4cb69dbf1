// SPDX-License-Identifier: Apache-2.0
// The real program and a real browser, set up for a test or for pictures.
import { execFileSync, spawn } from "node:child_process";
import { once } from "node:events";
import { existsSync, mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";

const here = dirname(fileURLToPath(import.meta.url));
export const root = dirname(dirname(here));
export const photo = (name) => join(root, "demo-photos", name);
export const keeper = "Ida Fenwright";
export const decider = "Tomas Oberlyn";

function stop(sentence) {
  console.error(sentence);
  process.exit(1);
}

// The two libraries by their lock file: from the npm registry, once.
export async function browserLibrary() {
  if (!existsSync(join(here, "node_modules", "playwright-core")) || !existsSync(join(here, "node_modules", "axe-core"))) {
    try {
      execFileSync("npm", ["ci", "--ignore-scripts", "--no-audit", "--no-fund"], { cwd: here, stdio: "inherit" });
    } catch {
      stop("tests/browser: playwright-core and axe-core cannot be fetched from the npm registry; connect to it once and run the test again.");
    }
  }
  return (await import("playwright-core")).chromium;
}

export async function openBrowser(chromium) {
  const path = ["/usr/bin/chromium", "/usr/bin/chromium-browser"].find(existsSync);
  if (!path) stop("tests/browser: Debian's chromium is not installed; tests/run installs it.");
  // No name but this machine's can be looked up, whatever a page asks for.
  const args = ["--host-resolver-rules=MAP * ~NOTFOUND, EXCLUDE 127.0.0.1", "--disable-background-networking"];
  if (process.getuid() === 0) args.push("--no-sandbox");
  return chromium.launch({ executablePath: path, args });
}

// A store of its own in a new folder, gone at the end.
export class Bench {
  constructor(program) {
    this.program = program;
    this.folder = mkdtempSync(join(tmpdir(), "frayhold-browser-"));
    // In English, whatever this machine speaks.
    this.environment = { ...process.env, LC_ALL: "C.UTF-8", LANGUAGE: "", FRAYHOLD_STORE: join(this.folder, "store"), FRAYHOLD_BY: keeper, XDG_STATE_HOME: this.folder };
  }

  run(...words) {
    return execFileSync(this.program, words, { env: this.environment, encoding: "utf8" });
  }

  addRope(mark) {
    this.run("item", "add", mark, "--kind", "rope_low_stretch", "--maker", "Brandel & Voss Ropeworks", "--model", "Arbolane 11",
             "--standard", "EN 1891 A", "--length", "45m", "--size", "11", "--made", "2022-04", "--first-used", "2022-06-13",
             "--batch", "B-2204", "--sheath-colour", "orange", "--place", "Lower Ashmeer");
  }

  file(name, content) {
    const path = join(this.folder, name);
    writeFileSync(path, content);
    return path;
  }

  // Starts serving; gives the addresses it prints.
  async serve(...words) {
    this.server = spawn(this.program, ["serve", "--port", "0", ...words], { env: this.environment });
    let said = "";
    this.server.stdout.setEncoding("utf8");
    this.server.stderr.on("data", (text) => process.stderr.write(text));
    await new Promise((done) => {
      this.server.stdout.on("data", (text) => {
        said += text;
        if (said.includes("Stop it with")) done();
      });
      this.server.on("exit", done);
    });
    const found = said.match(/open at (http:\/\/127\.0\.0\.1:\d+)/);
    if (!found) stop(`tests/browser: the bench did not open: ${said}`);
    return { bench: found[1], pairing: said.match(/\n {2}(https?:\/\/\S+\/pair\?code=\S+)/)?.[1] };
  }

  async close() {
    if (this.server) {
      this.server.kill("SIGTERM");
      if (this.server.exitCode === null) await once(this.server, "exit");
    }
    rmSync(this.folder, { recursive: true, force: true });
  }
}
