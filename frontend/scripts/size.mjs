// The first load of the app (its entry script, what that imports at once, and their style) stays under 90 kB gzip.
// Run after `npm run build`. What a screen brings by itself is loaded when it is opened and is not counted.
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { gzipSync } from "node:zlib";

const LIMIT = 90_000;
const page = readFileSync("dist/index.html", "utf8");
const first = new Set([...page.matchAll(/(?:src|href)="\/(assets\/[^"]+\.(?:js|css))"/g)].map((match) => match[1]));
for (const file of first) {
  if (!file.endsWith(".js")) continue;
  const script = readFileSync(join("dist", file), "utf8");
  for (const [, name] of script.matchAll(/(?:^|[;}\s])import\s*(?:[\w${},*\s]+from\s*)?["']\.\/([^"']+\.js)["']/g)) first.add(`assets/${name}`);
}
let total = 0;
for (const file of first) {
  const bytes = gzipSync(readFileSync(join("dist", file)), { level: 9 }).length;
  total += bytes;
  console.log(`${String(bytes).padStart(7)}  ${file}`);
}
console.log(`${String(total).padStart(7)}  first load, gzip (limit ${LIMIT})`);
if (!first.size || total > LIMIT) process.exit(1);
