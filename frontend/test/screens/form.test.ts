import { describe, expect, it } from "vitest";
import { mergePatch } from "../../src/domain/mergePatch";
import type { FieldOf } from "../../src/screens/setup/fields";
import { checkFields, documentOf, draftOf, newDocumentOf, patchOf, rebase } from "../../src/screens/setup/form";

describe("a draft and its document", () => {
  it("trims words and leaves out what is empty", () => {
    expect(documentOf({ name: "  Ines  ", note: "   ", doubles: undefined, contains: ["latex ", " "], steps: [] })).toEqual({ name: "Ines", contains: ["latex"] });
  });
  it("says nothing of health in a new record when nothing is entered there, since not every role may", () => {
    expect(newDocumentOf({ name: "Ines", allergies: {}, patch_tests: {} })).toEqual({ name: "Ines" });
  });
  it("patches only what was changed, and removes what was emptied", () => {
    const before = draftOf({ grade: "hero", appliances: [] }, { name: "Brow", note: "Old", appliances: ["a"] });
    const after = { ...before, note: " ", appliances: [] };
    const patch = patchOf(before, after);
    expect(patch).toEqual({ note: null, appliances: null });
    expect(mergePatch({ name: "Brow", note: "Old", appliances: ["a"] }, patch)).toEqual({ name: "Brow" });
  });
  it("writes an empty list where the default is another: a shop without a day off", () => {
    const before = draftOf({ weekdays_off: ["sunday"], dates_off: [] }, { name: "Low Water" });
    const patch = patchOf(before, { ...before, weekdays_off: [] }, ["weekdays_off"]);
    expect(patch).toEqual({ weekdays_off: [] });
    expect(draftOf({ weekdays_off: ["sunday"] }, mergePatch({ name: "Low Water" }, patch) as never).weekdays_off).toEqual([]);
  });
  it("takes out the last item of a keyed list by its key, so that one added elsewhere meanwhile stays", () => {
    const patch = patchOf({ allergies: { one: { substance: "latex" } } }, { allergies: {} });
    expect(mergePatch({ allergies: { one: { substance: "latex" }, two: { substance: "nuts" } } }, patch)).toEqual({ allergies: { two: { substance: "nuts" } } });
  });
  it("writes nothing when a default is only shown", () => {
    const before = draftOf({ grade: "hero", copies_per_application: 1 }, { name: "Brow" });
    expect(patchOf(before, draftOf({}, before as never))).toEqual({});
  });
});

describe("a record changed elsewhere while its form is open", () => {
  const before = { name: "Brow", note: "a", wear: 60 };
  it("takes the new value where nothing was written here, and keeps what was", () => {
    expect(rebase(before, { ...before, note: "mine" }, { ...before, wear: 90 })).toEqual({ draft: { name: "Brow", note: "mine", wear: 90 }, clashes: [] });
  });
  it("names what was written on both sides, unless both wrote the same", () => {
    expect(rebase(before, { ...before, note: "mine", wear: 90 }, { ...before, note: "theirs", wear: 90 }).clashes).toEqual(["note"]);
  });
  it("can empty a field that was only emptied elsewhere", () => {
    expect(rebase(before, before, { name: "Brow", wear: 60 }).draft).toEqual({ name: "Brow", note: undefined, wear: 60 });
  });
});

describe("the bounds of a form", () => {
  const fields: FieldOf[] = [
    { sort: "text", name: "name", label: "Name", max: 5, required: true },
    { sort: "number", name: "count", label: "Count", min: 1, max: 50 },
    { sort: "decimal", name: "target", label: "Target", above: 0, below: 1, times: 100 },
    { sort: "minutes", name: "limit", label: "Limit", min: 1, max: 2880 },
    { sort: "date", name: "day", label: "Day" },
    { sort: "choice", name: "solvent", label: "Solvent", required: true, options: () => [], when: (draft) => draft.use === "edge_solvent" },
  ];
  const errors = (draft: Record<string, unknown>) => checkFields(fields, { name: "Brow", ...draft }, null);
  it("pass what fits", () => {
    expect(errors({ count: 50, target: 0.98, limit: 2880, day: "2026-11-25" })).toEqual({});
  });
  it("are told at the field, in words", () => {
    expect(errors({ name: " " })).toEqual({ name: "This is needed" });
    expect(errors({ name: "Browse" })).toEqual({ name: "At most 5 characters" });
    expect(errors({ count: 0 })).toEqual({ count: "A whole number from 1 to 50" });
    expect(errors({ count: 1.5 }).count).toBeDefined();
    expect(errors({ target: 1 })).toEqual({ target: "Above 0 and below 100" });
    expect(errors({ limit: 0 })).toEqual({ limit: "From 1 min to 48 h" });
    expect(errors({ day: "1949-12-31" }).day).toBeDefined();
    expect(errors({ day: "0202-11-25" }).day).toBeDefined();
  });
  it("do not ask for what is not shown", () => {
    expect(errors({ use: "paint" })).toEqual({});
    expect(errors({ use: "edge_solvent" })).toEqual({ solvent: "Choose one" });
  });
});
