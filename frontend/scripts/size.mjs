// The first load of the app stays under 90 kB gzip of script and style: the entry, the Today screen, what the two import
// at once, and their style. Run after `npm run build`. What another screen brings is loaded when that is opened, and what
// sends once the app has opened; all of it is kept for opening without a network.
import { readdirSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { gzipSync } from "node:zlib";

const LIMIT = 90_000;
const page = readFileSync("dist/index.html", "utf8");
const first = new Set([...page.matchAll(/(?:src|href)="\/assets\/([^"]+\.(?:js|css))"/g)].map((match) => match[1]));
const today = readdirSync("dist/assets").filter((name) => /^(Today|SittingLine|LoggedLine|StageMark)-.*\.(js|css)$/.test(name));
if (!first.size || !today.length) throw new Error("The build has no entry or no Today screen: what is to be measured?");
for (const file of [...today]) first.add(file);
// A Set goes on to what is added while it is walked.
for (const file of first) {
  if (!file.endsWith(".js")) continue;
  const script = readFileSync(join("dist/assets", file), "utf8");
  for (const [, name] of script.matchAll(/(?:^|[;}\s])import\s*(?:[\w${},*\s]+from\s*)?["']\.\/([^"']+\.js)["']/g)) first.add(name);
}
const kept = new Set([...readFileSync("dist/sw.js", "utf8").matchAll(/url:\s*"assets\/([^"]+)"/g)].map((match) => match[1]));
const notKept = readdirSync("dist/assets").filter((name) => !kept.has(name));
if (notKept.length) throw new Error(`Not kept for opening without a network: ${notKept.join(", ")}`);
let total = 0;
for (const file of first) {
  const bytes = gzipSync(readFileSync(join("dist/assets", file)), { level: 9 }).length;
  total += bytes;
  console.log(`${String(bytes).padStart(7)}  ${file}`);
}
console.log(`${String(total).padStart(7)}  first load, gzip (limit ${LIMIT})`);
if (total > LIMIT) process.exit(1);
