import { describe, expect, it } from "vitest";
import { inTenths, minutesAt } from "../../src/domain/roomTemperature";

describe("a gel in a room as warm as it is", () => {
  const known = { minutes: 6, celsius: 23 };
  it("sets in half the time 10 °C warmer, and takes twice as long 10 °C colder", () => {
    expect(minutesAt(known, 23)).toBe(6);
    expect(minutesAt(known, 33)).toBe(3);
    expect(minutesAt(known, 13)).toBe(12);
  });
  it("is not worked out further than that from where the maker measured", () => {
    expect(minutesAt(known, 33.5)).toBeUndefined();
    // Worked out for 21 °C from a maker's 25 °C: 12 °C is 13 away from the maker, and 9 from the room that was said.
    expect(minutesAt({ minutes: 8, celsius: 21 }, 12, 25)).toBeUndefined();
  });
  it("is never said to last longer than it does", () => {
    expect(inTenths(6 * 2 ** 0.2)).toBe(6.8); // 6.892
    expect(inTenths(6)).toBe(6);
  });
});
