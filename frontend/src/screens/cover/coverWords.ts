// What the cover of an appliance says, in words: how many spares, until when, how sure.

import { dayWords } from "../../domain/moment";
import type { Day, Id } from "../../types";

export interface CoverDay {
  date: Day;
  applications: number;
  copies_needed: number;
  arrivals: number;
  /** null where the mean is infinite. */
  expected_left: number | null;
  /** null where the figure is out of all reason. */
  left_p10: number | null;
  left_p90: number | null;
  p_short_by: number;
}

export interface ApplianceCover {
  appliance: Id;
  spares_now: number;
  on_set: number;
  in_transit: number;
  due: number;
  undated: number;
  log: { good: number; spoiled: number };
  prior: [number, number];
  p_covered: number;
  first_day_at_risk: Day | null;
  days: CoverDay[];
}

export interface CoverAnswer {
  answer: "cover";
  worked_out_at: string;
  target: number;
  appliances: ApplianceCover[];
}

export type Standing = "not_needed" | "covered" | "at_risk" | "short";

/** short: likelier than not that a planned application goes without. */
export function standingOf(cover: ApplianceCover): Standing {
  if (!cover.days.some((day) => day.copies_needed > 0)) return "not_needed";
  if (cover.first_day_at_risk === null) return "covered";
  return cover.p_covered < 0.5 ? "short" : "at_risk";
}

export const STANDING_WORDS: Record<Standing, string> = { not_needed: "Not planned", covered: "Covered", at_risk: "At risk", short: "Likely to run short" };

/**
 * A probability in percent, never rounded to the better side nor to a certainty it is not: how sure one is is rounded
 * down, a risk up. One decimal near the ends, where it matters.
 */
export function percentWords(p: number, kind: "sure" | "risk"): string {
  if (p <= 0) return "0\u00a0%";
  if (p >= 1) return "100\u00a0%";
  if (p > 0.999) return "over\u00a099.9\u00a0%";
  if (p < 0.001) return "under\u00a00.1\u00a0%";
  const places = p >= 0.9 || p <= 0.1 ? 10 : 1;
  // 0.98 * 1000 is a hair off in binary; that hair is not a thousandth of confidence.
  const scaled = p * 100 * places;
  const whole = kind === "sure" ? Math.floor(scaled + 1e-9) : Math.ceil(scaled - 1e-9);
  return `${whole / places}\u00a0%`;
}

/** "4 spares", "1 spare", "no spare" */
export const sparesWords = (spares: number): string => (spares === 0 ? "no spare" : spares === 1 ? "1 spare" : `${spares} spares`);

/** Until when it is covered: "covered until Thu 14 Mar, at risk from Fri 15 Mar". */
export function untilWords(cover: ApplianceCover): string {
  const standing = standingOf(cover);
  if (standing === "not_needed") return "no shoot day ahead needs it";
  const needing = cover.days.filter((day) => day.copies_needed > 0);
  if (cover.first_day_at_risk === null) return `covered to its last day, ${dayWords(needing.at(-1)!.date)}`;
  const before = needing.filter((day) => day.date < cover.first_day_at_risk!).at(-1);
  const risk = `at risk from ${dayWords(cover.first_day_at_risk)}`;
  return before ? `covered until ${dayWords(before.date)}, ${risk}` : risk;
}

/** How sure: "97 % sure to the end". */
export const sureWords = (cover: ApplianceCover): string => (standingOf(cover) === "not_needed" ? "" : `${percentWords(cover.p_covered, "sure")} sure to the end`);

/** The whole line, as a screen reader says it. */
export const coverLine = (name: string, spares: number, cover: ApplianceCover): string => [name, sparesWords(spares), untilWords(cover), sureWords(cover)].filter(Boolean).join(", ");

const RANK: Record<Standing, number> = { short: 0, at_risk: 1, covered: 2, not_needed: 3 };

/** Worst first: the least sure, of those alike the one at risk first. */
export function worstFirst(one: ApplianceCover, other: ApplianceCover): number {
  return RANK[standingOf(one)] - RANK[standingOf(other)] || one.p_covered - other.p_covered || (one.first_day_at_risk ?? "9999").localeCompare(other.first_day_at_risk ?? "9999");
}

/** What it rests on: "34 good, 3 spoiled; prior worth 10 copies at 90 %." */
export function restsOnWords(cover: ApplianceCover): string {
  const { good, spoiled } = cover.log;
  const [a, b] = cover.prior;
  const number = (value: number): string => String(Number(value.toPrecision(3)));
  const prior = `prior worth ${number(a + b)} ${a + b === 1 ? "copy" : "copies"} at ${number((100 * a) / (a + b))}\u00a0%`;
  return good + spoiled === 0 ? `Nothing in the log yet, so on the ${prior}.` : `${good} good, ${spoiled} spoiled; ${prior}.`;
}

/** "2.4", "−1", or a dash in words where there is no figure. */
export function leftWords(left: number | null): string {
  if (left === null) return "no mean";
  const rounded = Math.round(left * 10) / 10;
  return rounded < 0 ? `−${Math.abs(rounded)}` : String(Math.abs(rounded));
}

/** The band: "−1 to 3". */
export function bandWords(day: Pick<CoverDay, "left_p10" | "left_p90">): string {
  const low = day.left_p10 === null ? "far below" : leftWords(day.left_p10);
  const high = day.left_p90 === null ? "far below" : leftWords(day.left_p90);
  return low === high ? low : `${low} to ${high}`;
}
