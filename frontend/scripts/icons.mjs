// Draws the app's icons from public/icon.svg with a local Chromium. Run by hand when the drawing changes:
//   CONTINUITY_CHROMIUM=/usr/bin/chromium npm run icons
import { execFileSync } from "node:child_process";
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";

const browser = process.env.CONTINUITY_CHROMIUM ?? "chromium";
const drawing = readFileSync("public/icon.svg", "utf8");
// A maskable icon fills its square and keeps the drawing inside the middle 80 %.
const filled = drawing.replace('rx="112"', 'rx="0"');
const maskable = filled.replace('transform="rotate(-24 256 256)"', 'transform="translate(256 256) scale(0.78) rotate(-24) translate(-256 -256)"');
const wanted = [
  ["icon-192.png", 192, drawing],
  ["icon-512.png", 512, drawing],
  ["icon-maskable-512.png", 512, maskable],
  ["apple-touch-icon.png", 180, filled],
];

const folder = mkdtempSync(join(tmpdir(), "icons-"));
for (const [name, size, svg] of wanted) {
  const page = join(folder, "page.html");
  writeFileSync(page, `<style>*{margin:0}svg{display:block;width:${size}px;height:${size}px}</style>${svg}`);
  execFileSync(browser, [
    "--headless", "--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage", "--disable-background-networking",
    "--disable-component-update", "--disable-sync", "--no-first-run", "--default-background-color=00000000",
    `--user-data-dir=${join(folder, "profile")}`, `--window-size=${size},${size}`,
    `--screenshot=public/${name}`, `file://${page}`,
  ], { stdio: "ignore" });
}
rmSync(folder, { recursive: true });
