// What a scanner read. A label holds the app's address with the copy: https://the.server/#/copy/<copy id>.

import type { Id } from "../types";

const COPY = /^#\/copy\/([0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12})\/?$/i;

/**
 * The copy a code names, or null where it is no label of a copy. The host is not looked at: the same server is reached by
 * more than one name, and whether the copy is of this production is seen from its id.
 */
export function copyOfCode(text: string): Id | null {
  let address: URL;
  try {
    address = new URL(text.trim());
  } catch {
    return null;
  }
  if (address.protocol !== "https:" && address.protocol !== "http:") return null;
  return COPY.exec(address.hash)?.[1]?.toLowerCase() ?? null;
}

export type Found = { copy: Id } | { problem: string };

interface Known { readonly id: Id; readonly document: { readonly serial: string } }

/** What was scanned, as a copy among those known here, or words for what it is instead. */
export function copyScanned(text: string, known: readonly Known[]): Found {
  const id = copyOfCode(text);
  if (!id) return { problem: "This code is no label of a copy." };
  return known.some((copy) => copy.id === id) ? { copy: id } : { problem: "This copy is not known on this phone: it is of another production, or not fetched yet." };
}

/** What was typed, as a copy among those known here: the serial, or its last number where only one copy ends in it. */
export function copyTyped(text: string, known: readonly Known[]): Found {
  const wanted = text.trim().toLowerCase();
  if (!wanted) return { problem: "Type the serial as on the label." };
  const whole = known.find(({ document }) => document.serial.toLowerCase() === wanted);
  if (whole) return { copy: whole.id };
  if (/^\d+$/.test(wanted)) {
    const ending = known.filter(({ document }) => Number(/(\d+)\D*$/.exec(document.serial)?.[1] ?? NaN) === Number(wanted));
    if (ending.length === 1) return { copy: ending[0]!.id };
    if (ending.length > 1) return { problem: `${ending.length} copies end in ${wanted}: type the whole serial.` };
  }
  return { problem: `No copy ${text.trim()} is known on this phone.` };
}
