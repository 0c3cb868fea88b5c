// Lays one photo over another by a few points marked on both: turn, scale and shift that leave the least squared
// distance between them. Never a mirror, which would be another face.
//
// S. Umeyama, "Least-squares estimation of transformation parameters between two point patterns", IEEE Transactions on
// Pattern Analysis and Machine Intelligence 13(4), 1991. In a plane the matrices c·R without a mirror are those of the
// form (a, -b; b, a), so the least squares of his problem are linear in a and b and need no singular values.

export interface Point { x: number; y: number }

/** x' = a·x - b·y + shift.x, y' = b·x + a·y + shift.y */
export interface Similarity { a: number; b: number; shift: Point }

const middleOf = (points: readonly Point[]): Point => ({
  x: points.reduce((sum, point) => sum + point.x, 0) / points.length,
  y: points.reduce((sum, point) => sum + point.y, 0) / points.length,
});

/** The similarity that takes `from` closest to `to`; null for fewer than two points, or where they fall together. */
export function similarityOf(from: readonly Point[], to: readonly Point[]): Similarity | null {
  if (from.length !== to.length || from.length < 2) return null;
  const [here, there] = [middleOf(from), middleOf(to)];
  let [spread, along, across] = [0, 0, 0];
  from.forEach((point, at) => {
    const [x, y, u, v] = [point.x - here.x, point.y - here.y, to[at]!.x - there.x, to[at]!.y - there.y];
    spread += x * x + y * y;
    along += x * u + y * v;
    across += x * v - y * u;
  });
  if (!(spread > 1e-12) || !(Math.hypot(along, across) > 1e-12)) return null;
  const [a, b] = [along / spread, across / spread];
  return { a, b, shift: { x: there.x - a * here.x + b * here.y, y: there.y - b * here.x - a * here.y } };
}

export function moved({ a, b, shift }: Similarity, { x, y }: Point): Point {
  return { x: a * x - b * y + shift.x, y: b * x + a * y + shift.y };
}

export function inverse({ a, b, shift }: Similarity): Similarity {
  const square = a * a + b * b;
  const back = { a: a / square, b: -b / square, shift: { x: 0, y: 0 } };
  const home = moved(back, shift);
  return { ...back, shift: { x: -home.x, y: -home.y } };
}

/** First `first`, then `second`. */
export function after(second: Similarity, first: Similarity): Similarity {
  return { a: second.a * first.a - second.b * first.b, b: second.b * first.a + second.a * first.b, shift: moved(second, first.shift) };
}

export const scaleOf = ({ a, b }: Similarity): number => Math.hypot(a, b);

/** The mean squared distance that is left between the points. */
export function errorOf(how: Similarity, from: readonly Point[], to: readonly Point[]): number {
  return from.reduce((sum, point, at) => {
    const there = moved(how, point);
    return sum + (there.x - to[at]!.x) ** 2 + (there.y - to[at]!.y) ** 2;
  }, 0) / from.length;
}
