// Where things stand in the plot of spares left by shoot day. Pure numbers, in pixels of the drawing.

import type { CoverDay } from "../../answers";

export interface Box { width: number; height: number; left: number; right: number; top: number; bottom: number }

/** Whole-numbered ticks from at or below `low` to at or above `high`, with 0 among them when it is between, at most `most`. */
export function wholeTicks(low: number, high: number, most: number): number[] {
  const from = Math.floor(Math.min(low, high));
  const to = Math.ceil(Math.max(low, high));
  const steps = [1, 2, 5];
  for (let scale = 1; ; scale *= 10) {
    for (const base of steps) {
      const step = base * scale;
      const first = Math.floor(from / step) * step;
      const last = Math.ceil(to / step) * step;
      const count = Math.round((last - first) / step) + 1;
      if (count <= Math.max(2, most)) return Array.from({ length: count }, (_, at) => first + at * step || 0);
    }
  }
}

/** The lowest and highest figure to be drawn; 0 always belongs to it. */
export function rangeOf(days: readonly CoverDay[]): [number, number] {
  const figures = days.flatMap((day) => [day.expected_left, day.left_p10, day.left_p90]).filter((figure) => figure !== null);
  return [Math.min(0, ...figures), Math.max(1, ...figures)];
}

export interface Scale {
  x: (index: number) => number;
  y: (left: number) => number;
  ticks: number[];
  /** Width of one day's bar. */
  bar: number;
  /** Indexes of the days that are named below the axis. */
  named: number[];
  zero: number;
}

/** `wide` is the room one day's name takes. */
export function scaleOf(days: readonly CoverDay[], box: Box, wide: number): Scale {
  const ticks = wholeTicks(...rangeOf(days), Math.max(3, Math.floor((box.height - box.top - box.bottom) / 32)));
  const [low, high] = [ticks[0]!, ticks.at(-1)!];
  const step = (box.width - box.left - box.right) / Math.max(1, days.length);
  const every = Math.max(1, Math.ceil(wide / step));
  const y = (left: number): number => {
    const kept = Math.max(low, Math.min(high, left));
    return box.top + ((high - kept) / (high - low)) * (box.height - box.top - box.bottom);
  };
  return {
    x: (index) => box.left + step * (index + 0.5),
    y, ticks, zero: y(0),
    bar: Math.max(3, Math.min(22, step * 0.6)),
    named: days.map((_, index) => index).filter((index) => index % every === 0),
  };
}
