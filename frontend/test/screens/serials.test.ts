import { describe, expect, it } from "vitest";
import { nextSerial, serialsError, serialsFrom, serialsWords } from "../../src/screens/setup/serials";

describe("serials of several copies", () => {
  it("count up from the first and keep their zeros", () => {
    expect(serialsFrom("CBL-08", 4)).toEqual(["CBL-08", "CBL-09", "CBL-10", "CBL-11"]);
  });
  it("grow a digit where the number does", () => {
    expect(serialsFrom("B9", 3)).toEqual(["B9", "B10", "B11"]);
  });
  it("count the last number when there are several, and keep what follows it", () => {
    expect(serialsFrom("2026-R07b", 2)).toEqual(["2026-R07b", "2026-R08b"]);
  });
  it("get a number where the first has none", () => {
    expect(serialsFrom("Brow", 3)).toEqual(["Brow", "Brow-2", "Brow-3"]);
  });
  it("are exact beyond what a floating-point number holds", () => {
    expect(serialsFrom("9007199254740993", 2)).toEqual(["9007199254740993", "9007199254740994"]);
  });
  it("are none without a first or a count", () => {
    expect(serialsFrom("  ", 3)).toEqual([]);
    expect(serialsFrom("A1", 0)).toEqual([]);
  });
});

describe("the next serial of an appliance", () => {
  it("follows its highest, not its last entered", () => {
    expect(nextSerial("Cut brow, left", ["CBL-12", "CBL-09"], ["CBL-12", "CBL-09"])).toBe("CBL-13");
  });
  it("passes over one that another appliance has", () => {
    expect(nextSerial("Cut brow, left", ["C-1"], ["C-1", "C-2", "C-3"])).toBe("C-4");
  });
  it("begins with the letters of the name", () => {
    expect(nextSerial("Cut brow, left", [], [])).toBe("CBL-01");
    expect(nextSerial("—", [], [])).toBe("COPY-01");
  });
});

describe("what is wrong with serials", () => {
  const taken = new Set(["A2", "A3"]);
  it("names the ones that are there already", () => {
    expect(serialsError(["A1", "A2"], taken)).toBe("There is a copy A2 already");
    expect(serialsError(["A1", "A2", "A3"], taken)).toBe("There are copies A2 to A3 already");
  });
  it("holds their length and asks for one", () => {
    expect(serialsError([], taken)).toBe("A serial is needed");
    expect(serialsError(["x".repeat(41)], taken)).toBe("At most 40 characters");
    expect(serialsError(["x".repeat(40)], taken)).toBeNull();
  });
  it("says a range in words", () => {
    expect(serialsWords(["A1", "A2", "A3"])).toBe("A1 to A3");
    expect(serialsWords(["A1"])).toBe("A1");
  });
});
