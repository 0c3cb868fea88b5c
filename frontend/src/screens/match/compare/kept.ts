// Points tapped on two photos stay on this phone: the last hundred pairs. Those that are the eyes go to everybody, as a
// guide of each photo; those of a measurement are in it.

import { db } from "../../../db";
import type { Points } from "./comparison.svelte";

const NAME = "alignments";
const MOST = 100;
type Kept = Record<string, Points>;

const keyOf = (then: string, now: string): string => `${then} ${now}`;

export async function pointsKept(then: string, now: string): Promise<Points | null> {
  return (await db.getMeta<Kept>(NAME))?.[keyOf(then, now)] ?? null;
}

/** Keeps the points of a pair, or forgets them where there are none. */
export async function keepPoints(then: string, now: string, points: Points | null): Promise<void> {
  const { [keyOf(then, now)]: _replaced, ...others } = (await db.getMeta<Kept>(NAME)) ?? {};
  const pairs = Object.entries(others).slice(-(MOST - 1));
  // Plain values: the store cannot hold what is reactive.
  if (points) pairs.push([keyOf(then, now), JSON.parse(JSON.stringify(points)) as Points]);
  await db.setMeta(NAME, Object.fromEntries(pairs));
}
