// Cases constructed here; that a count finds less than is written down is common practice, no source.

import { describe, expect, it } from "vitest";
import { copyStates } from "../../src/domain/copyState";
import { counted, countedWords, expectedOf } from "../../src/domain/count";
import type { ApplicationDocument, CopyDocument } from "../../src/types";

const copy = (id: string, state: CopyDocument["state"], more: Partial<CopyDocument> = {}) => ({
  id, derived: {}, document: { appliance: "brow", serial: id, grade: "hero" as const, state, ...more } as CopyDocument,
});
const DAY = "Wed 25 Nov 2026";
const COPIES = [
  copy("B10", "on_set"), copy("B2", "on_set", { note: "Chipped at the tail" }), copy("B3", "on_set"), copy("B4", "lost", { note: "Missing from its parcel" }),
  copy("B5", "in_transit", { expected_on: "2026-11-24" }), copy("B6", "damaged"), copy("N1", "on_set", { appliance: "nose" }),
];
const WORN = { id: "sheet", document: { copies: { one: { copy_used: "B3", outcome: "good" } } } as unknown as ApplicationDocument };

describe("a count", () => {
  const states = copyStates(COPIES, [WORN]);

  it("expects what the records hold as on set, without what is on a performer", () => {
    expect(expectedOf(COPIES, states, "brow").map(({ id }) => id)).toEqual(["B2", "B10"]);
  });
  it("sets lost what is not there, and says when; what the note said stays", () => {
    const { writes, there, expected } = counted("brow", COPIES, states, new Set(["B10"]), DAY);
    expect(writes).toEqual([{ copy: "B2", patch: { state: "lost", expected_on: null, note: "Chipped at the tail\nNot there at the count of Wed 25 Nov 2026" } }]);
    expect([there, expected]).toEqual([1, 2]);
  });
  it("puts back on set what turned up, but not what a sheet has used, what is damaged, or another piece", () => {
    const { writes, document } = counted("brow", COPIES, states, new Set(["B2", "B10", "B3", "B4", "B5", "B6", "N1"]), DAY);
    expect(writes.map(({ copy: id, patch }) => [id, patch.state, patch.expected_on])).toEqual([["B4", "on_set", null], ["B5", "on_set", null]]);
    expect(document.copies).toEqual({
      B2: { held_as: "on_set", found: true }, B10: { held_as: "on_set", found: true }, B4: { held_as: "lost", found: true }, B5: { held_as: "in_transit", found: true },
    });
  });
  it("leaves a note that is full as it is", () => {
    const full = [copy("B1", "on_set", { note: "x".repeat(4990) })];
    expect(counted("brow", full, copyStates(full, []), new Set(), DAY).writes).toEqual([{ copy: "B1", patch: { state: "lost", expected_on: null } }]);
  });
  it.each([
    [{ a: true, b: true }, 0, "all 2 there"], [{ a: true, b: false }, 0, "1 of 2 there"], [{ a: true }, 2, "1 of 1 there, 2 more turned up"], [{}, 1, "none expected, 1 more turned up"],
  ])("%j and %d that turned up: %s", (onSet, more, said) => {
    const copies = Object.fromEntries([
      ...Object.entries(onSet).map(([id, found]) => [id, { held_as: "on_set", found }] as const),
      ...Array.from({ length: more }, (_, index) => [`t${index}`, { held_as: "lost", found: true }] as const),
    ]);
    expect(countedWords({ appliance: "brow", copies })).toBe(said);
  });
});
