// Counting what is really there: which copies of an appliance should lie on the shelf, what may be said of one that turns
// up, and what is written when the count is done.

import type { CopyDocument, CopyState, CountDocument, Id, Rec } from "../types";
import type { CopyNow } from "./copyState";

type CopyRow = Pick<Rec<"copy">, "id" | "document">;
type States = ReadonlyMap<Id, CopyNow>;

const NOTE_HOLDS = 5000;

/** Copies of the appliance that the records hold as on set, by serial. */
export const expectedOf = <T extends CopyRow>(copies: readonly T[], states: States, appliance: Id): T[] =>
  copies
    .filter(({ id, document }) => document.appliance === appliance && states.get(id)?.state === "on_set")
    .sort((one, other) => one.document.serial.localeCompare(other.document.serial, "en", { numeric: true }));

/** Whether finding it is enough to put it back on set. What a sheet says of a copy is put right on the sheet, and a damaged one is no spare. */
export const canBePutRight = (now: CopyNow | undefined): boolean => !now?.application && (now?.state === "lost" || now?.state === "shop" || now?.state === "in_transit");

export interface CopyToWrite { copy: Id; patch: { state: CopyState; expected_on: null; note?: string } }
export interface Counted { document: CountDocument; writes: CopyToWrite[]; expected: number; there: number; missing: Id[]; putRight: Id[] }

/** What a count comes to. `found` are the copies that were there; `day` is the day in words that goes into the copies' notes. */
export function counted(appliance: Id, copies: readonly CopyRow[], states: States, found: ReadonlySet<Id>, day: string): Counted {
  const expected = expectedOf(copies, states, appliance);
  const putRight = copies.filter(({ id, document }) => document.appliance === appliance && found.has(id) && canBePutRight(states.get(id)));
  const missing = expected.filter(({ id }) => !found.has(id));
  const writes = [
    ...missing.map((copy): CopyToWrite => ({ copy: copy.id, patch: { state: "lost", expected_on: null, ...noteWith(copy.document, `Not there at the count of ${day}`) } })),
    ...putRight.map((copy): CopyToWrite => ({ copy: copy.id, patch: { state: "on_set", expected_on: null, ...noteWith(copy.document, `Found at the count of ${day}`) } })),
  ];
  const seen = [...expected, ...putRight].map(({ id }) => [id, { held_as: states.get(id)!.state, found: found.has(id) }] as const);
  return {
    document: { appliance, copies: Object.fromEntries(seen) },
    writes, expected: expected.length, there: expected.length - missing.length, missing: missing.map(({ id }) => id), putRight: putRight.map(({ id }) => id),
  };
}

/** The line is added to what the note says already. */
function noteWith({ note }: Pick<CopyDocument, "note">, line: string): { note?: string } {
  const whole = note ? `${note}\n${line}` : line;
  return whole.length <= NOTE_HOLDS ? { note: whole } : {};
}

/** "7 of 8 there", "all 8 there, 1 more turned up" */
export function countedWords({ copies = {} }: CountDocument): string {
  const all = Object.values(copies);
  const expected = all.filter(({ held_as }) => held_as === "on_set");
  const there = expected.filter(({ found }) => found).length;
  const more = all.length - expected.length;
  const said = !expected.length ? "none expected" : there === expected.length && there > 1 ? `all ${there} there` : `${there} of ${expected.length} there`;
  return more ? `${said}, ${more} more turned up` : said;
}
