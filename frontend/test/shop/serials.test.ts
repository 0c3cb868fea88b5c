import { describe, expect, it } from "vitest";
import { newId } from "../../src/domain/id";
import { serialOfRun, serialsFrom } from "../../src/screens/setup/serials";

const none = new Set<string>();

describe("serials of a cast run", () => {
  it("are the piece's letters, the run's own characters and a number", () => {
    // 0x01ffffff in base 32 is five times 31; the last of the 32 signs without I, L, O and U is Z. Worked by hand.
    expect(serialOfRun("Cut brow, left", "01a2132b-ab9e-74c7-8b3f-ba7501ffffff", none)).toBe("CBL-ZZZZZ-1");
    expect(serialOfRun("Cut brow, left", "01a2132b-ab9e-74c7-8b3f-ba7500000021", none)).toBe("CBL-00011-1");
    expect(serialOfRun("", "01a2132b-ab9e-74c7-8b3f-ba7500000000", none)).toBe("COPY-00000-1");
  });
  it("count up within the run, and go on after those that are there", () => {
    const run = newId();
    const three = serialsFrom(serialOfRun("Ear", run, none), 3);
    expect(three.map((serial) => serial.split("-").at(-1))).toEqual(["1", "2", "3"]);
    expect(serialOfRun("Ear", run, new Set(three)).endsWith("-4")).toBe(true);
  });
  it("of two benches that know nothing of each other do not collide", () => {
    const firsts = Array.from({ length: 2000 }, () => serialOfRun("Cut brow, left", newId(), none));
    // Of 2000 runs that knew of none of the others, hardly two are alike: 2000² / 2 / 2²⁵ is 0.06.
    expect(new Set(firsts).size).toBeGreaterThanOrEqual(1998);
  });
  it("are read off a label without mistaking a letter for a digit", () => {
    for (let each = 0; each < 200; each += 1) expect(serialOfRun("Ear", newId(), none).split("-")[1]).toMatch(/^[0-9A-HJKMNP-TV-Z]{5}$/);
  });
});
