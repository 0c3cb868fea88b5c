import { describe, expect, it } from "vitest";
import { eighthsWords } from "../../src/screens/setup/eighths";
import { gaps, type Shelves } from "../../src/screens/setup/gaps";
import { compareScenes, inStoryOrder } from "../../src/domain/storyOrder";
import { zoneError } from "../../src/screens/setup/timeZones";
import { dueWords } from "../../src/screens/shop/dueWords";

const EMPTY: Shelves = { today: "2026-11-25", character: [], look: [], appliance: [], mould: [], cast_run: [], copy: [], material: [], scene: [], shoot_day: [] };
const brow = { id: "brow", document: { name: "Cut brow, left", encapsulator: "acetone_soluble", edge_solvent: "acetone" } } as const;

describe("what is missing", () => {
  it("is nothing where there is nothing yet", () => {
    expect(gaps("copy", EMPTY)).toEqual([]);
    expect(gaps("scene", EMPTY)).toEqual([]);
  });
  it("names the solvent an edge needs and nobody has entered", () => {
    expect(gaps("material", { ...EMPTY, appliance: [brow] })).toContain("An edge needs a solvent that is not in the list: acetone.");
    const there = { id: "m", document: { name: "Acetone", use: "edge_solvent", solvent: "acetone" } } as const;
    expect(gaps("material", { ...EMPTY, appliance: [brow], material: [there] }).join()).not.toContain("solvent");
  });
  it("counts the good copies of a run that have no serial", () => {
    const run = { id: "run", document: { mould: "m", appliance: "brow", cast_on: "2026-11-20", due_on: "2026-11-21", copies_planned: 4, good: 3 } };
    const copy = { id: "c", document: { appliance: "brow", serial: "1", grade: "hero", cast_run: "run" } } as const;
    expect(gaps("cast_run", { ...EMPTY, appliance: [brow], cast_run: [run], copy: [copy] })).toEqual(["Good copies not entered yet: 2 of Cut brow, left."]);
  });
  it("names a run that is late, from the day after", () => {
    const run = (due_on: string) => ({ id: "run", document: { mould: "m", appliance: "brow", cast_on: "2026-11-20", due_on, copies_planned: 4 } });
    expect(gaps("cast_run", { ...EMPTY, appliance: [brow], cast_run: [run("2026-11-25")] })).toEqual([]);
    expect(gaps("cast_run", { ...EMPTY, appliance: [brow], cast_run: [run("2026-11-24")] })[0]).toContain("Tue 24 Nov");
  });
  it("keeps names apart that have a comma in them", () => {
    const nose = { id: "nose", document: { ...brow.document, name: "Nose" } } as const;
    expect(gaps("appliance", { ...EMPTY, appliance: [brow, nose] })).toEqual(["No copy yet of Cut brow, left; Nose."]);
  });
  it("names copies in transit without a day, and a few of many", () => {
    const copy = (serial: string) => ({ id: serial, document: { appliance: "brow", serial, grade: "hero", state: "in_transit" } }) as const;
    expect(gaps("copy", { ...EMPTY, copy: ["1", "2", "3", "4", "5"].map(copy) })[0]).toContain("1, 2, 3 and 2 more");
  });
  it("does not call a bare look missing beside made-up ones of the same character", () => {
    const mara = { id: "mara", document: { name: "Mara" } };
    const bare = { id: "l1", document: { character: "mara", name: "Before" } };
    const worn = { id: "l2", document: { character: "mara", name: "Cut", appliances: ["brow"] } };
    expect(gaps("look", { ...EMPTY, character: [mara], look: [bare, worn] })).toEqual([]);
    expect(gaps("look", { ...EMPTY, character: [mara], look: [bare] })).toHaveLength(1);
  });
});

describe("story order", () => {
  it("is by story day, then place, then number; without a story day last", () => {
    const scene = (number: string, story_day?: number, position = 0) => ({ document: { number, position, ...(story_day === undefined ? {} : { story_day }) } });
    const order = inStoryOrder([scene("9"), scene("42A", 2), scene("42", 2), scene("7", 2, 5), scene("100", -1), scene("8")]).map(({ document }) => document.number);
    expect(order).toEqual(["100", "42", "42A", "7", "8", "9"]);
    expect(compareScenes({ number: "1" }, { number: "1" })).toBe(0);
  });
});

describe("words", () => {
  it("of a length in the script", () => {
    expect([0, 3, 8, 11, 16].map(eighthsWords)).toEqual(["0 page", "3/8 page", "1 page", "1 3/8 pages", "2 pages"]);
  });
  it("of a due day, across the change of the clocks", () => {
    expect(dueWords("2026-10-26", "2026-10-25").words).toBe("tomorrow");
    expect(dueWords("2026-11-25", "2026-11-25")).toEqual({ words: "today", late: false });
    expect(dueWords("2026-11-22", "2026-11-25")).toEqual({ words: "3 days late", late: true });
    expect(dueWords("2026-12-03", "2026-11-25").words).toBe("Thu 3 Dec");
  });
  it("of a time zone that is none", () => {
    expect(zoneError("Europe/London")).toBeNull();
    expect(zoneError("Nowhere/At all")).not.toBeNull();
    expect(zoneError("+01:00")).not.toBeNull();
  });
});
