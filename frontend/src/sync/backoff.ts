// How long to wait before trying again: doubling from two seconds to five minutes, spread at random so that the
// phones of a whole crew do not all come back at the same moment.

const LONGEST = 300_000;

/** Whether the wait is over: also when it is longer than any, because the phone's clock has been put right since. */
export const isDue = (nextAt: number, at: number): boolean => nextAt <= at || nextAt > at + LONGEST;

export function backoff(attempts: number, random: () => number = Math.random): number {
  const ceiling = Math.min(LONGEST, 2_000 * 2 ** Math.max(0, attempts - 1));
  return Math.round(ceiling / 2 + (ceiling / 2) * random());
}
