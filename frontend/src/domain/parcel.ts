// A parcel of copies: its packing list, where it stands, and what is written when it is looked through on set.

import type { CopyState, Day, Documents, Id, Moment, ParcelDocument } from "../types";

export type Arrived = "arrived" | "missing" | "damaged";
export type Standing = "packed" | "on_its_way" | "being_looked_through" | "received";

export const STANDING_WORDS: Record<Standing, string> = { packed: "Packed, not sent", on_its_way: "On its way", being_looked_through: "Being looked through", received: "Received" };

export interface Count { all: number; arrived: number; missing: number; damaged: number; open: number }

export function countOf(parcel: Pick<ParcelDocument, "copies">): Count {
  const told = Object.values(parcel.copies ?? {}).map(({ arrived }) => arrived);
  const of = (what: Arrived): number => told.filter((one) => one === what).length;
  const count = { all: told.length, arrived: of("arrived"), missing: of("missing"), damaged: of("damaged") };
  return { ...count, open: count.all - count.arrived - count.missing - count.damaged };
}

export function standingOf(parcel: ParcelDocument): Standing {
  if (!parcel.sent_at) return "packed";
  if (parcel.received_at) return "received";
  const { open, all } = countOf(parcel);
  return open === all ? "on_its_way" : "being_looked_through";
}

/** "6 copies", "6 of 6 arrived", "4 arrived, 1 missing, 1 damaged, 2 to be looked for" */
export function countWords(parcel: ParcelDocument): string {
  const { all, arrived, missing, damaged, open } = countOf(parcel);
  if (open === all) return all === 1 ? "1 copy" : `${all} copies`;
  if (arrived === all) return `all ${all} arrived`;
  return [`${arrived} arrived`, missing ? `${missing} missing` : "", damaged ? `${damaged} damaged` : "", open ? `${open} to be looked for` : ""].filter(Boolean).join(", ");
}

export interface PackingLine { appliance: Id; grade: string; serials: string[]; copies: Id[] }

type CopyRow = { id: Id; document: Documents["copy"] };

/** What is in it by appliance and grade, serials in order. Copies this phone does not know stand under their own line. */
export function packingList(parcel: Pick<ParcelDocument, "copies">, copies: { get(id: Id): CopyRow | undefined }): { lines: PackingLine[]; unknown: Id[] } {
  const lines = new Map<string, PackingLine>();
  const unknown: Id[] = [];
  for (const id of Object.keys(parcel.copies ?? {})) {
    const copy = copies.get(id)?.document;
    if (!copy) {
      unknown.push(id);
      continue;
    }
    const key = `${copy.appliance} ${copy.grade}`;
    const line = lines.get(key) ?? { appliance: copy.appliance, grade: copy.grade, serials: [], copies: [] };
    line.serials.push(copy.serial);
    line.copies.push(id);
    lines.set(key, line);
  }
  for (const line of lines.values()) {
    const paired = line.serials.map((serial, index) => ({ serial, id: line.copies[index]! })).sort((one, other) => one.serial.localeCompare(other.serial, "en", { numeric: true }));
    line.serials = paired.map(({ serial }) => serial);
    line.copies = paired.map(({ id }) => id);
  }
  return { lines: [...lines.values()], unknown };
}

/** The parcel that is not received yet and has this copy in it. */
export const openParcelOf = <T extends { document: ParcelDocument }>(parcels: readonly T[], copy: Id): T | undefined =>
  parcels.find(({ document }) => !document.received_at && copy in (document.copies ?? {}));

/** The parcel that was sent with this copy and has not told it arrived, the last of them: it is on its way still, or was missing from it. */
export const parcelThatMissed = <T extends { document: ParcelDocument }>(parcels: readonly T[], copy: Id): T | undefined =>
  parcels
    .filter(({ document }) => document.sent_at && document.copies?.[copy] && document.copies[copy].arrived !== "arrived")
    .sort((one, other) => Date.parse(other.document.sent_at!) - Date.parse(one.document.sent_at!))[0];

export interface CopyPatch { state: CopyState; expected_on: Day | null; note?: string }

/** What is written of a copy itself when it is told what became of it. A missing one counts for nothing until it turns up. */
export function copyPatch(what: Arrived, note: string): CopyPatch {
  const state: CopyState = what === "arrived" ? "on_set" : what === "damaged" ? "damaged" : "lost";
  return { state, expected_on: null, ...(note ? { note } : what === "missing" ? { note: "Missing from its parcel" } : {}) };
}

/** The parcel's own patch for the same; with the last copy told it is received. */
export function parcelPatch(parcel: ParcelDocument, copy: Id, what: Arrived | null, note: string, at: Moment): { copies: Record<Id, { arrived: Arrived | null; note?: string }>; received_at?: Moment } {
  const others = Object.entries(parcel.copies ?? {}).filter(([id]) => id !== copy);
  const whole = what !== null && others.every(([, { arrived }]) => arrived);
  return { copies: { [copy]: { arrived: what, ...(note ? { note } : {}) } }, ...(whole && !parcel.received_at ? { received_at: at } : {}) };
}
