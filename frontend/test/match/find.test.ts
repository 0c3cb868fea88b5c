// Cases constructed here.

import { describe, expect, test } from "vitest";
import { find, type FindFacts, read } from "../../src/screens/match/find";
import type { ApplianceDocument, ApplicationDocument } from "../../src/types";

const scene = (id: string, number: string, story_day: number | undefined, position: number, worn: [string, string, string?][]) => ({
  id, document: { number, position, ...(story_day === undefined ? {} : { story_day }), worn: worn.map(([character, look, performer]) => ({ character, look, ...(performer ? { performer } : {}) })) },
});
const facts: FindFacts = {
  // As they were entered, not in story order.
  scenes: [
    scene("s51", "51", 4, 1, [["mara", "old"]]), scene("s3", "3", 1, 0, [["mara", "fresh"]]), scene("s42", "42", 3, 2, [["mara", "fresh"], ["mara", "fresh", "double"], ["ivo", "burn"]]),
    scene("s42a", "42A", 3, 3, [["mara", "fresh"]]), scene("s142", "142", 9, 0, [["ivo", "burn"]]),
  ],
  looks: new Map([
    ["fresh", { character: "mara", name: "Cut brow, fresh", appliances: ["brow"] }], ["old", { character: "mara", name: "Cut brow, one day old", appliances: ["brow"] }],
    ["burn", { character: "ivo", name: "Burned cheek" }], ["scar", { character: "ivo", name: "Scar, camera test" }],
  ]),
  characters: new Map([["mara", { name: "Mara", performer: "anna" }], ["ivo", { name: "Ivo", performer: "ben" }]]),
  performers: new Map([["anna", { name: "Anna Éclair" }], ["ben", { name: "Ben Ox" }], ["double", { name: "Dot Ash" }]]),
  appliances: new Map([["brow", { name: "Brow piece, left" } as ApplianceDocument]]),
  copies: [{ id: "c7", document: { appliance: "brow", serial: "CB-07", grade: "hero" } }, { id: "c8", document: { appliance: "brow", serial: "CB-08", grade: "hero" } }],
  applications: [{ id: "a1", happened_at: "2026-03-02T06:00:00Z", document: { performer: "anna", look: "old", date: "2026-03-02", artist: "x", copies: { u: { copy_used: "c7" } } } as ApplicationDocument }],
};
const found = (text: string, narrowed = {}) => find(text, facts, narrowed).map((one) => [one.sort, one.sort === "scene" ? one.scene : one.sort === "copy" ? one.copy : one.look, one.look].join(" "));

describe("what somebody types", () => {
  test("is told apart", () => {
    expect(read("Scene 42A tamsin")).toEqual({ scene: "42a", words: ["tamsin"] });
    expect(read("story day 3")).toEqual({ storyDay: 3, words: [] });
    expect(read("d3 brow")).toEqual({ storyDay: 3, words: ["brow"] });
    expect(read("CB-07")).toEqual({ words: ["cb-07"] });
  });

  test("a scene number: the scene itself, then those that begin with it; never one that only holds it", () => {
    expect(found("42").map((one) => one.split(" ")[1])).toEqual(["s42", "s42", "s42", "s42a"]);
    expect(found("scene 42a")).toEqual(["scene s42a fresh"]);
  });

  test("a story day, in story order", () => {
    expect(found("story day 3").map((one) => one.split(" ")[1])).toEqual(["s42", "s42", "s42", "s42a"]);
  });

  test("a day in the name of a look is found too, unless the story day is asked for by its full name", () => {
    const day4 = { ...facts, looks: new Map([...facts.looks, ["fresh", { character: "mara", name: "Cut brow, day 4" }]]) };
    expect(find("mara day 4", day4).map((one) => (one.sort === "scene" ? one.scene : ""))).toEqual(["s3", "s42", "s42", "s42a", "s51"]);
    expect(find("mara story day 4", day4).map((one) => (one.sort === "scene" ? one.scene : ""))).toEqual(["s51"]);
  });

  test("a bare number is a scene before it is a story day", () => {
    expect(found("3").map((one) => one.split(" ")[1])).toEqual(["s3", "s42", "s42", "s42", "s42a"]);
  });

  test("a serial, with the hyphen or without: the look it was put on for", () => {
    expect(found("CB-07")).toEqual(["copy c7 old"]);
    expect(found("cb07")).toEqual(["copy c7 old"]);
    expect(find("CB-07", facts)[0]).toMatchObject({ application: "a1", performer: "anna" });
    expect(find("cb-08", facts)[0]).not.toHaveProperty("application");
  });

  test("a performer, a character, a look, a piece, without accents, and several at once", () => {
    expect(found("eclair").length).toBe(4);
    expect(found("dot")).toEqual(["scene s42 fresh"]);
    expect(found("mara old")).toEqual(["scene s51 old"]);
    expect(found("42 ivo")).toEqual(["scene s42 burn"]);
    expect(found("brow piece").length).toBe(5);
  });

  test("a look that is in no scene is found too, and nothing where nothing fits", () => {
    expect(found("scar")).toEqual(["look scar scar"]);
    expect(found("zebra")).toEqual([]);
  });

  test("chips narrow it", () => {
    expect(found("", { performer: "ben" }).map((one) => one.split(" ")[1])).toEqual(["s42", "s142", "scar"]);
    expect(found("mara", { storyDay: 4 })).toEqual(["scene s51 old"]);
  });
});
