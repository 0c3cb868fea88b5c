import { describe, expect, test } from "vitest";
import { composePatches, diffPatch, mergePatch, sameJson } from "../src/domain/mergePatch";
import type { JsonObject } from "../src/types";

// RFC 7396, appendix A: original, patch, result.
const APPENDIX_A: [unknown, unknown, unknown][] = [
  [{ a: "b" }, { a: "c" }, { a: "c" }],
  [{ a: "b" }, { b: "c" }, { a: "b", b: "c" }],
  [{ a: "b" }, { a: null }, {}],
  [{ a: "b", b: "c" }, { a: null }, { b: "c" }],
  [{ a: ["b"] }, { a: "c" }, { a: "c" }],
  [{ a: "c" }, { a: ["b"] }, { a: ["b"] }],
  [{ a: { b: "c" } }, { a: { b: "d", c: null } }, { a: { b: "d" } }],
  [{ a: [{ b: "c" }] }, { a: [1] }, { a: [1] }],
  [["a", "b"], ["c", "d"], ["c", "d"]],
  [{ a: "b" }, ["c"], ["c"]],
  [{ a: "foo" }, null, null],
  [{ a: "foo" }, "bar", "bar"],
  [{ e: null }, { a: 1 }, { e: null, a: 1 }],
  [[1, 2], { a: "b", c: null }, { a: "b" }],
  [{}, { a: { bb: { ccc: null } } }, { a: { bb: {} } }],
];

test.each(APPENDIX_A)("RFC 7396 appendix A: %j patched with %j", (original, patch, result) => {
  const before = structuredClone(original);
  expect(mergePatch(original, patch)).toEqual(result);
  expect(original).toEqual(before);
});

// Constructed here: documents without nulls and patches over the same few names, so that they meet in every way.
const DOCUMENTS: JsonObject[] = [{}, { a: 1 }, { a: { x: 1, y: 2 } }, { a: { x: { z: 1 } }, b: [1] }];
const PATCHES: JsonObject[] = [
  {}, { a: null }, { a: 5 }, { a: { x: 9 } }, { a: { x: null } }, { a: { y: 3 }, b: null }, { a: { x: { z: null, w: 1 } } }, { a: [1] }, { b: { c: 1 } },
];

describe("one patch for two", () => {
  const pairs = PATCHES.flatMap((first) => PATCHES.map((second): [JsonObject, JsonObject] => [first, second]));
  test.each(pairs)("%j then %j", (first, second) => {
    const both = composePatches(first, second);
    for (const document of DOCUMENTS) {
      if (both) expect(mergePatch(document, both)).toEqual(mergePatch(mergePatch(document, first), second));
    }
  });

  test("two changes of one sheet do become one", () => {
    expect(composePatches({ touch_ups: { a: { reason: "sweat" } } }, { touch_ups: { b: { reason: "lunch" } } })).toEqual({
      touch_ups: { a: { reason: "sweat" }, b: { reason: "lunch" } },
    });
  });

  test("a removal followed by an object cannot be said in one", () => {
    expect(composePatches({ a: null }, { a: { x: 1 } })).toBe(null);
  });
});

test.each(DOCUMENTS.flatMap((before) => DOCUMENTS.map((after): [JsonObject, JsonObject] => [before, after])))("the difference from %j to %j", (before, after) => {
  expect(mergePatch(before, diffPatch(before, after))).toEqual(after);
});

test("the order of members does not count, that of a list does", () => {
  expect(sameJson({ a: 1, b: [1, 2] }, { b: [1, 2], a: 1 })).toBe(true);
  expect(sameJson({ b: [2, 1] }, { b: [1, 2] })).toBe(false);
  expect(sameJson({ a: 1 }, { a: 1, b: 2 })).toBe(false);
});
