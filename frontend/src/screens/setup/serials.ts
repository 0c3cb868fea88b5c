// Serials of copies: "CBL-07" is followed by "CBL-08".

export const LONGEST_SERIAL = 40;

const LAST_NUMBER = /^(.*?)(\d+)(\D*)$/s;

/** The serials that follow from the first one, itself included. The last number in it counts up and keeps its zeros. */
export function serialsFrom(first: string, count: number): string[] {
  const start = first.trim();
  if (!start || count < 1) return [];
  const found = LAST_NUMBER.exec(start);
  if (!found) return Array.from({ length: count }, (_, step) => (step === 0 ? start : `${start}-${step + 1}`));
  const [, before = "", digits = "", after = ""] = found;
  return Array.from({ length: count }, (_, step) => before + String(BigInt(digits) + BigInt(step)).padStart(digits.length, "0") + after);
}

/** A serial to start from: one more than the highest of this appliance's, else from the first letters of its name. */
export function nextSerial(applianceName: string, ofAppliance: readonly string[], ofAll: readonly string[]): string {
  const taken = new Set(ofAll);
  let best: { serial: string; number: bigint } | undefined;
  for (const serial of ofAppliance) {
    const digits = LAST_NUMBER.exec(serial)?.[2];
    if (digits && (!best || BigInt(digits) > best.number)) best = { serial, number: BigInt(digits) };
  }
  let next = best ? serialsFrom(best.serial, 2)[1]! : `${initials(applianceName)}-01`;
  while (taken.has(next)) next = serialsFrom(next, 2)[1]!;
  return next;
}

const UNMISTAKABLE = "0123456789ABCDEFGHJKMNPQRSTVWXYZ";

/** The first serial of a cast run: the piece's letters, five characters of the run's own id, and a number: "CBL-7QKF2-1".
 *  Two benches that have not heard of each other count up from different runs, so their serials differ but for one chance in
 *  33 million; then the server refuses the second, and it is corrected by hand. No letter among the five looks like a digit. */
export function serialOfRun(applianceName: string, run: string, taken: ReadonlySet<string>): string {
  let rest = parseInt(run.replaceAll("-", "").slice(-8), 16);
  let code = "";
  for (let place = 0; place < 5; place += 1) {
    code = UNMISTAKABLE[rest & 31]! + code;
    rest = Math.floor(rest / 32);
  }
  let number = 1;
  while (taken.has(`${initials(applianceName)}-${code}-${number}`)) number += 1;
  return `${initials(applianceName)}-${code}-${number}`;
}

function initials(name: string): string {
  const letters = (name.match(/[\p{L}\p{N}]+/gu) ?? []).map((word) => word[0]!.toUpperCase()).join("");
  return letters.slice(0, 6) || "COPY";
}

/** What is wrong with these serials, in words, or null. */
export function serialsError(serials: readonly string[], taken: ReadonlySet<string>): string | null {
  if (!serials.length) return "A serial is needed";
  if (serials.some((serial) => serial.length > LONGEST_SERIAL)) return `At most ${LONGEST_SERIAL} characters`;
  const twice = serials.filter((serial) => taken.has(serial));
  if (twice.length) return twice.length === 1 ? `There is a copy ${twice[0]} already` : `There are copies ${twice[0]} to ${twice.at(-1)} already`;
  return null;
}

/** "CBL-08 to CBL-12", or the one. */
export function serialsWords(serials: readonly string[]): string {
  return serials.length < 2 ? (serials[0] ?? "") : `${serials[0]} to ${serials.at(-1)}`;
}
