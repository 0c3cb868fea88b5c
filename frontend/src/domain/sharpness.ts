// Whether a frame is blurred, from its pixels, on the phone.
//
// The measure of focus is the variance of the Laplacian (Pech-Pacheco and others, "Diatom autofocusing in brightfield
// microscopy", 2000; from memory). Bare, that number says as much about what is in the picture, and about the light, as
// about its focus. So it is compared with that of the same picture blurred again by a known amount: a sharp picture
// loses most of it, a blurred one little (the idea is Crété and others, "The blur effect", 2007; from memory). Noise of a
// dim trailer would pass for sharpness, so both are taken from a lightly smoothed picture; and a hand that moved blurs
// one direction only, so the Laplacian is taken apart into its directions and the worst of them counts.
//
//   const left = detailLeft(grey);   left > BLURRED_ABOVE   ->   "blurred"

/** A picture of one value a pixel, 0 to 255, row by row. */
export interface Grey { width: number; height: number; values: Float32Array }

/** The picture is reduced to this longer edge before it is judged, never enlarged. */
export const JUDGED_EDGE = 1024;
/** And of that only the middle is, at most so wide and high: the face is there, what lies behind may be out of focus. */
export const JUDGED_MIDDLE = 512;

/**
 * Above this a frame is called blurred. Learnt by test/match/learnt.test.ts, which has the numbers, from eight photographs
 * that scikit-image carries (public domain or CC0): as they are and blurred by a Gaussian of 0.5 and 0.8 pixels they count
 * as sharp; blurred by 2 and 3 pixels, or by a straight movement of 9 or 15, as blurred; all with and without noise. Two
 * pixels of 1024 are eight of a 12-megapixel photo. 2 of 128 pictures fall on the wrong side, 6 when left out in turn.
 */
export const BLURRED_ABOVE = 0.252;

const BINOMIAL = [1 / 16, 4 / 16, 6 / 16, 4 / 16, 1 / 16] as const;
/** Passes of the binomial filter, each of variance 1: before the first measure, and before the second. */
const LIGHTLY = 1;
const AGAIN = 4;
/** Left out at each side: the filter has no neighbours there. */
const RIM = 6;

function smoothed({ width, height, values }: Grey): Grey {
  const across = new Float32Array(values.length);
  const both = new Float32Array(values.length);
  const [a, b, c] = BINOMIAL;
  const inside = (at: number, end: number): number => (at < 0 ? -at : at >= end ? 2 * end - 2 - at : at);
  for (let y = 0; y < height; y++) {
    const row = y * width;
    for (let x = 0; x < width; x++) {
      const at = (step: number): number => values[row + inside(x + step, width)]!;
      across[row + x] = a * (at(-2) + at(2)) + b * (at(-1) + at(1)) + c * at(0);
    }
  }
  for (let y = 0; y < height; y++) {
    const rows = [-2, -1, 0, 1, 2].map((step) => inside(y + step, height) * width) as [number, number, number, number, number];
    for (let x = 0; x < width; x++) {
      both[y * width + x] = a * (across[rows[0] + x]! + across[rows[4] + x]!) + b * (across[rows[1] + x]! + across[rows[3] + x]!) + c * across[rows[2] + x]!;
    }
  }
  return { width, height, values: both };
}

const times = (count: number, grey: Grey): Grey => (count ? times(count - 1, smoothed(grey)) : grey);

/** Variance of the second difference of neighbours `step` apart. */
function variance({ width, height, values }: Grey, step: number): number {
  let count = 0;
  let sum = 0;
  let squares = 0;
  for (let y = RIM; y < height - RIM; y++) {
    for (let x = RIM, at = y * width + RIM; x < width - RIM; x++, at++) {
      const bend = values[at - step]! + values[at + step]! - 2 * values[at]!;
      count += 1;
      sum += bend;
      squares += bend * bend;
    }
  }
  return squares / count - (sum / count) ** 2;
}

/**
 * How much of the fine detail is left after the picture is blurred again, 0 to 1, in the direction that has most left:
 * the more, the more it was blurred before. NaN for a picture without any detail, or too small to tell.
 */
export function detailLeft(grey: Grey): number {
  if (Math.min(grey.width, grey.height) < 4 * RIM) return NaN;
  const before = times(LIGHTLY, grey);
  const after = times(AGAIN - LIGHTLY, before);
  const { width } = grey;
  const left = [1, width, width + 1, width - 1].map((step) => {
    const detail = variance(before, step);
    return detail > 1e-6 ? variance(after, step) / detail : NaN;
  }).filter((share) => !Number.isNaN(share));
  return left.length ? Math.max(...left) : NaN;
}

/** The middle of a picture as it is judged. */
export function middleOf(grey: Grey, edge = JUDGED_MIDDLE): Grey {
  const width = Math.min(edge, grey.width);
  const height = Math.min(edge, grey.height);
  const left = (grey.width - width) >> 1;
  const top = (grey.height - height) >> 1;
  const values = new Float32Array(width * height);
  for (let y = 0; y < height; y++) {
    const start = (top + y) * grey.width + left;
    values.set(grey.values.subarray(start, start + width), y * width);
  }
  return { width, height, values };
}

/** Grey of a picture's RGBA bytes, with the weights of ITU-R BT.601. */
export function greyOf(rgba: Uint8ClampedArray | Uint8Array, width: number, height: number): Grey {
  const values = new Float32Array(width * height);
  for (let pixel = 0, at = 0; pixel < values.length; pixel++, at += 4) values[pixel] = 0.299 * rgba[at]! + 0.587 * rgba[at + 1]! + 0.114 * rgba[at + 2]!;
  return { width, height, values };
}
