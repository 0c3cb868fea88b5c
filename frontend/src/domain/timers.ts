// Timers of the bench: coats, pot life, cure. A timer is when it was started and how long it runs, never a count that is
// kept going, so that it is right again after the browser was closed.

import type { Moment } from "../types";

export interface Timer { what: string; minutes: number; started_at: Moment; stopped_at?: Moment | undefined }

/** `secondsLeft` is below zero once it is over. */
export interface TimerNow { phase: "running" | "over" | "stopped"; secondsLeft: number; part: number; words: string; late: string }

const two = (n: number): string => String(n).padStart(2, "0");

/** "5:09" under an hour, "2 h 05 min" above. Seconds. */
export function clockWords(seconds: number): string {
  const whole = Math.max(0, Math.ceil(seconds));
  return whole >= 3600 ? `${Math.floor(whole / 3600)} h ${two(Math.floor((whole % 3600) / 60))} min` : `${Math.floor(whole / 60)}:${two(whole % 60)}`;
}

/** "40 s", "12 min", "1 h 05 min" over its time. */
function overWords(seconds: number): string {
  const whole = Math.floor(seconds);
  if (whole < 60) return `${whole} s over`;
  const minutes = Math.floor(whole / 60);
  return minutes < 60 ? `${minutes} min over` : `${Math.floor(minutes / 60)} h ${two(minutes % 60)} min over`;
}

/** How a timer stands at `at` (milliseconds since 1970). A clock set back shows it as just started, never as longer than it is. */
export function timerAt(timer: Timer, at: number): TimerNow {
  const length = timer.minutes * 60;
  const until = timer.stopped_at ? Date.parse(timer.stopped_at) : at;
  const gone = Math.max(0, (until - Date.parse(timer.started_at)) / 1000);
  const secondsLeft = length - gone;
  const part = length > 0 ? Math.min(1, gone / length) : 1;
  if (timer.stopped_at) {
    return { phase: "stopped", secondsLeft, part, words: secondsLeft > 0 ? "stopped early" : "done", late: secondsLeft < -1 ? overWords(-secondsLeft) : "" };
  }
  if (secondsLeft > 0) return { phase: "running", secondsLeft, part, words: clockWords(secondsLeft), late: "" };
  return { phase: "over", secondsLeft, part: 1, words: "time is up", late: secondsLeft <= -1 ? overWords(-secondsLeft) : "" };
}

/** What goes down as the end of a coat, the pot life or the cure, in words. */
export function endWords(what: string): string {
  const lower = what.toLowerCase();
  if (lower.startsWith("pot life")) return "The mix sets: pour no more of it.";
  if (lower.startsWith("cure")) return "Cured by the clock: test it before you demould.";
  if (lower.startsWith("coat") || lower.includes("coat")) return "Dry by the clock: touch the waste, not the edge, then the next coat.";
  return `${what} is over.`;
}

/** Those whose end fell after `since` and at or before `at`: what is to be sounded now. */
export function endedBetween<T extends Timer>(timers: readonly T[], since: number, at: number): T[] {
  return timers.filter((timer) => {
    if (timer.stopped_at) return false;
    const end = Date.parse(timer.started_at) + timer.minutes * 60_000;
    return end > since && end <= at;
  });
}
