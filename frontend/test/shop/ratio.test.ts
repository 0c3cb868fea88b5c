import { describe, expect, it } from "vitest";
import { offPercent, offRatio, ratioWarnings } from "../../src/domain/ratio";
import shared from "../../../tests/cases/ratio.json";

// The trade's common example, 8 : 8 : 7.5 (common practice, no source).
const ratio = { a: 8, b: 8, deadener: 7.5 };

describe("weights against the ratio", () => {
  it("that fit say nothing", () => expect(ratioWarnings({ a: 24, b: 24, deadener: 22.5 }, ratio, 2)).toEqual([]));
  it("that are off say what to weigh, to the scale's step", () => {
    // 24 g of A ask for 24 g of B and 22.5 g of deadener; 25.2 is 5 % over, 20.7 is 8 % under. Worked by hand.
    expect(ratioWarnings({ a: 24, b: 25.2, deadener: 20.7 }, ratio, 2)).toEqual(["B is 5.0 % over: 24.0 g of A ask for 24.0 g.", "The deadener is 8.0 % under: 24.0 g of A ask for 22.5 g."]);
  });
  it("are judged one by one, as they are weighed", () => {
    expect(ratioWarnings({ a: 24 }, ratio, 2)).toEqual([]);
    expect(ratioWarnings({ b: 25 }, ratio, 2)).toEqual([]);
    expect(ratioWarnings({ a: 24, b: 24 }, ratio, 2)).toEqual([]);
  });
  it("exactly at the tolerance are within it", () => {
    expect(ratioWarnings({ a: 50, b: 51 }, { a: 1, b: 1, deadener: 0 }, 2)).toEqual([]);
    expect(ratioWarnings({ a: 50, b: 51.1 }, { a: 1, b: 1, deadener: 0 }, 2)).toHaveLength(1);
  });
  it("of a gel without deadener ask for none", () => expect(offPercent({ a: 10, deadener: 5 }, { a: 1, b: 1, deadener: 0 }, "deadener")).toBeNull());
});

describe("how far off, as the server has it", () => {
  it.each(shared.cases.map((one) => [one.name, one] as const))("%s", (_name, { weighed, ratio: parts, tolerance_percent: tolerance, off }) => {
    const found = offRatio(weighed, parts, tolerance);
    expect(found.map(({ part }) => part)).toEqual(off.map(({ part }) => part));
    for (const [index, { percent }] of off.entries()) expect(found[index]!.percent).toBeCloseTo(percent, 9);
  });
});
