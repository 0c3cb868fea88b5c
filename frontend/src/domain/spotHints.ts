// What the phone can say of a spot before the server measures it: that it is clipped, small or unevenly lit. Only a hint:
// the server looks at the original, with the same bounds, and has the last word.

export type SpotHint = "clipped" | "small" | "uneven";

/** Codes up to which, and from which, a channel is clipped, as the server has them. */
const DARKEST = 2;
const BRIGHTEST = 253;
const CLIPPED_SHARE = 0.01;
/** Pixels of the picture shown; the original has as many or more. */
const SMALL = { patch: 6, card: 12 };
/** In L*, between the quarters of a card. */
const UNEVEN = 3;

/** RGBA pixels of a square, row by row, with the spot's circle in its middle. */
export interface Square { data: ArrayLike<number>; edge: number }

const linear = (code: number): number => {
  const share = code / 255;
  return share <= 0.04045 ? share / 12.92 : ((share + 0.055) / 1.055) ** 2.4;
};
/** CIE 1976 lightness of a luminance of 0 to 1. */
export const lightnessOf = (luminance: number): number => (luminance > (6 / 29) ** 3 ? 116 * Math.cbrt(luminance) - 16 : luminance * (29 / 3) ** 3);

/** `radius` in pixels of the square. */
export function hintsOf({ data, edge }: Square, radius: number, what: "patch" | "card"): SpotHint[] {
  const middle = (edge - 1) / 2;
  let [all, clipped] = [0, 0];
  const quarters = [[0, 0], [0, 0], [0, 0], [0, 0]];
  for (let row = 0; row < edge; row++) {
    for (let column = 0; column < edge; column++) {
      const [x, y] = [column - middle, row - middle];
      if (x * x + y * y > radius * radius) continue;
      const at = 4 * (row * edge + column);
      // Outside the picture.
      if (data[at + 3] === 0) continue;
      const [red, green, blue] = [data[at]!, data[at + 1]!, data[at + 2]!];
      all += 1;
      if (Math.min(red, green, blue) <= DARKEST || Math.max(red, green, blue) >= BRIGHTEST) clipped += 1;
      const quarter = quarters[2 * Number(y > 0) + Number(x > 0)]!;
      quarter[0]! += 0.2126729 * linear(red) + 0.7151522 * linear(green) + 0.072175 * linear(blue);
      quarter[1]! += 1;
    }
  }
  const lights = quarters.filter(([, count]) => count! > 0).map(([sum, count]) => lightnessOf(sum! / count!));
  return [
    ...(all > 0 && clipped / all >= CLIPPED_SHARE ? ["clipped" as const] : []),
    ...(radius < SMALL[what] ? ["small" as const] : []),
    ...(what === "card" && lights.length && Math.max(...lights) - Math.min(...lights) >= UNEVEN ? ["uneven" as const] : []),
  ];
}
