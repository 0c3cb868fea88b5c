import { describe, expect, it } from "vitest";
import { offPercent, type Ratio, ratioWarnings, type Weights } from "../../src/domain/ratio";
// The server's tests run the same cases. Constructed by hand; each name says the sum.
import cases from "../../../tests/cases/ratio.json";

interface Case { name: string; ratio: Ratio; tolerance_percent: number; weighed: Partial<Weights>; off: { b?: number; deadener?: number } }

describe("weights against the ratio, as the server sees them", () => {
  for (const one of cases as Case[]) {
    it(one.name, () => {
      expect(ratioWarnings(one.weighed, one.ratio, one.tolerance_percent)).toHaveLength(Object.keys(one.off).length);
      for (const part of ["b", "deadener"] as const) {
        const off = one.off[part];
        if (off !== undefined) expect(offPercent(one.weighed, one.ratio, part)).toBeCloseTo(off, 6);
      }
    });
  }
});
