// What the cover of an appliance says, in words: how many spares, until when, how sure.

import { dayWords } from "../../domain/moment";
import type { Day, OrderDocument } from "../../types";
import type { ApplianceCover, CoverDay, ReasonsAnswer, Reorder } from "../../answers";

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

/** "4 spares", "1 spare", "no spares" */
export const sparesWords = (spares: number): string => (spares === 0 ? "no spares" : spares === 1 ? "1 spare" : `${spares} spares`);

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

/** "1 copy", "6 copies" */
export const many = (count: number, one: string, more: string): string => `${count} ${count === 1 ? one : more}`;
export const copiesWords = (count: number): string => many(count, "copy", "copies");
export const poursWords = (count: number): string => many(count, "pour", "pours");

/** Whether there is something to order, or something the order cannot reach. */
export const wantsOrder = (reorder: Reorder | null): reorder is Reorder => reorder !== null && (reorder.copies > 0 || !reorder.possible);

/** By when the shop must start: "start today", "start by Mon 2 Mar", "should have started on Fri 27 Feb". */
export function startWords(latest: Day, today: Day): string {
  if (latest < today) return `should have started on ${dayWords(latest)}`;
  return latest === today ? "start today" : `start by ${dayWords(latest)}`;
}

/** What the shop must do: "order 6 copies, 8 pours, start by Mon 2 Mar". Empty where nothing is to be ordered. */
export function orderWords(reorder: Reorder | null, today: Day): string {
  if (!wantsOrder(reorder)) return "";
  const { copies, pours, latest_start: latest, possible, best_p_covered: best, still_short: short } = reorder;
  if (possible) return `order ${copiesWords(copies)}, ${poursWords(pours)}${latest ? `, ${startWords(latest, today)}` : ""}`;
  return `cannot be made in time: best ${percentWords(best, "sure")}${short ? `, short on ${dayWords(short)}` : ""}`;
}

/** The pours by day: "Mon 2 Mar 4, Tue 3 Mar 4"; of many days the first three and the last. */
export function scheduleWords(schedule: Reorder["schedule"]): string {
  const shown = schedule.length > 4 ? schedule.slice(0, 3) : schedule;
  const all = shown.map((pour) => `${dayWords(pour.date)} ${pour.pours}`).join(", ");
  return schedule.length > 4 ? `${all} … until ${dayWords(schedule.at(-1)!.date)}` : all;
}

/** The order that stands, once the shop has it: "6 copies taken on by the shop". Empty while it is only asked for. */
export const standingOrderWords = (order: OrderDocument | undefined): string => (order?.state === "taken_on" || order?.state === "casting" ? `${copiesWords(order.copies)} ${order.state === "casting" ? "being cast" : "taken on"} by the shop` : "");

/** What becomes of a copy: "88 % last: 7.5 % are spoiled on the way, and of those put on 4.5 % are lost during the day". */
export function ratesWords({ success, spoiled, lost }: ApplianceCover["rates"]): string {
  const percent = (p: number): string => `${Number((p * 100).toPrecision(p < 0.1 ? 2 : 3))}\u00a0%`;
  return `${percent(success)} last: ${percent(spoiled)} are spoiled on the way, and of those put on ${percent(lost)} are lost during the day`;
}

/** What copies that do not last ask for: "On average 1.2 are spoiled and 0.3 lost on the way to 12 that last." */
export function extraWords({ needed, spoiled, lost }: ReasonsAnswer["extra"]): string {
  if (spoiled === null || lost === null) return "So few of them last that there is no average to plan with.";
  return `On average ${leftWords(spoiled)} ${Math.round(spoiled * 10) === 10 ? "is" : "are"} spoiled and ${leftWords(lost)} lost on set before ${many(needed, "has", "have")} lasted.`;
}

/** How many are on faces already of those that a day asks for: "2 on already". Empty for none. */
export const onAlreadyWords = (count: number): string => (count ? `${count} on already` : "");

/** What a prior weighs: "counts as 10 copies of which 90 % lasted". */
export function priorWords([good = 0, rest = 0]: readonly number[]): string {
  const number = (value: number): string => String(Number(value.toPrecision(3)));
  return `counts as ${number(good + rest)} ${good + rest === 1 ? "copy" : "copies"} of which ${number((100 * good) / (good + rest))}\u00a0% lasted`;
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
