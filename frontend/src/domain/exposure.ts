// Whether a frame is too dark or too bright to match by, from the middle of it in grey (see sharpness.ts).

import type { Grey } from "./sharpness";

export interface Exposure {
  /** The level 95 of 100 pixels lie under, 0 to 255 as coded for a screen. Not the median: dark skin, well lit, is dark. */
  lightest: number;
  /** Share of pixels so bright that nothing can be told in them any more. */
  white: number;
}

/** Level from which a pixel counts as clipped; common practice, no source. */
const WHITE = 250;

/**
 * Learnt by test/match/learnt.test.ts from the same photographs as BLURRED_ABOVE, darkened and brightened in linear
 * light: as they are and by one stop more or less count as well exposed, by three stops as badly. The numbers are there.
 */
export const DARK_UNDER = 93;
export const BRIGHT_ABOVE = 0.377;

export function exposureOf({ values }: Grey): Exposure {
  const levels = new Uint32Array(256);
  for (const value of values) levels[Math.min(255, Math.max(0, Math.round(value)))]! += 1;
  let lightest = 0;
  for (let below = 0; lightest < 255 && (below += levels[lightest]!) <= 0.95 * values.length; ) lightest += 1;
  return { lightest, white: levels.subarray(WHITE).reduce((sum, count) => sum + count, 0) / values.length };
}

export function exposureFault({ lightest, white }: Exposure): "too_dark" | "too_bright" | null {
  if (lightest < DARK_UNDER) return "too_dark";
  return white > BRIGHT_ABOVE ? "too_bright" : null;
}
