// Weights against the ratio of a gel. The weight of A is what the others are measured by, because it is weighed first.

export interface Weights { a: number; b: number; deadener: number }
export interface Ratio { a: number; b: number; deadener: number }
export type GelPart = "b" | "deadener";

/** How far B, or the deadener, is from what A asks for, in percent, above or below; null where there is nothing to compare. */
export function offPercent(weighed: Partial<Weights>, ratio: Ratio, part: GelPart): number | null {
  const { a } = weighed;
  const got = weighed[part];
  if (a === undefined || a <= 0 || got === undefined || ratio[part] <= 0) return null;
  const wanted = (a * ratio[part]) / ratio.a;
  return ((got - wanted) / wanted) * 100;
}

export interface OffRatio { part: GelPart; wanted: number; percent: number; over: boolean }

/** The parts further off than the tolerance, as the server has it. A hair of a percent is binary arithmetic, not the scale. */
export function offRatio(weighed: Partial<Weights>, ratio: Ratio, tolerancePercent: number): OffRatio[] {
  return (["b", "deadener"] as const).flatMap((part) => {
    const off = offPercent(weighed, ratio, part);
    if (off === null || Math.abs(off) <= tolerancePercent + 1e-9) return [];
    return [{ part, wanted: (weighed.a! * ratio[part]) / ratio.a, percent: Math.abs(off), over: off > 0 }];
  });
}

const NAMES: Record<GelPart, string> = { b: "B", deadener: "The deadener" };

/** What is said at once of a weight that is off by more than the tolerance: what it is, and what to weigh instead. */
export function ratioWarnings(weighed: Partial<Weights>, ratio: Ratio, tolerancePercent: number, step = 0.1): string[] {
  const digits = Math.max(0, Math.min(3, Math.ceil(-Math.log10(step))));
  return offRatio(weighed, ratio, tolerancePercent).map(({ part, wanted, percent, over }) => {
    const shown = percent < 10 ? percent.toFixed(1) : String(Math.round(percent));
    return `${NAMES[part]} is ${shown} % ${over ? "over" : "under"}: ${weighed.a!.toFixed(digits)} g of A ask for ${wanted.toFixed(digits)} g.`;
  });
}
