// What came out of a mould, cavity by cavity, and what follows from it for the run and for the copies.

import { serialsFrom } from "../screens/setup/serials";
import type { Cavity, Fault, Grade, Id } from "../types";
import { words } from "./words";

export type Cavities = Record<Id, Cavity>;

export const cavityOf = (cavities: Cavities | undefined, number: number): [Id, Cavity] | undefined => Object.entries(cavities ?? {}).find(([, one]) => one.cavity === number);

export interface Tally { good: number; lower: number; rejected: number; open: number }

export function tallyOf(cavities: Cavities | undefined, planned: number): Tally {
  const told = Object.values(cavities ?? {});
  const of = (result: Cavity["result"]): number => told.filter((one) => one.result === result).length;
  const tally = { good: of("good"), lower: of("lower_grade"), rejected: of("rejected") };
  return { ...tally, open: Math.max(0, planned - told.length) };
}

const RANK: Grade[] = ["hero", "mid", "background"];
/** The grades below this one, best first. */
export const lowerGrades = (grade: Grade): Grade[] => RANK.slice(RANK.indexOf(grade) + 1);

export const faultWords = (why: Fault | undefined, note: string | undefined): string => [why && why !== "other" ? words.fault[why] : "", note ?? ""].filter(Boolean).join(": ") || words.fault.other;

/** Copies of a run that serve where this grade is wanted; `own` is the grade of what came out well. */
export function goodFor(wanted: Grade, own: Grade, run: { good?: number | undefined; cavities?: Cavities | undefined }): number {
  const tooLow = Object.values(run.cavities ?? {}).filter((one) => one.result === "lower_grade" && RANK.indexOf(one.grade ?? lowerGrades(own)[0] ?? own) > RANK.indexOf(wanted));
  return run.good === undefined ? 0 : Math.max(0, run.good - tooLow.length);
}

/** How the result counts for the yield: copies that passed, a lower grade among them, and each rejected one with why. */
export function countedResult(cavities: Cavities): { good: number; rejected: Record<Id, { copies: number; why: string }> } {
  const entries = Object.entries(cavities);
  return {
    good: entries.filter(([, one]) => one.result !== "rejected").length,
    rejected: Object.fromEntries(entries.filter(([, one]) => one.result === "rejected").map(([id, one]) => [id, { copies: 1, why: faultWords(one.why, one.note) }])),
  };
}

export interface ToMake { cavity: Id; number: number; grade: Grade; serial: string }

/** Copies still to be made of what passed, in the order of the cavities, with the serials that follow on `first`. */
export function copiesToMake(cavities: Cavities, own: Grade, first: string): ToMake[] {
  const passed = Object.entries(cavities).filter(([, one]) => one.result !== "rejected" && !one.copy_cast).sort(([, one], [, other]) => one.cavity - other.cavity);
  const serials = serialsFrom(first, passed.length);
  return passed.map(([cavity, one], index) => ({ cavity, number: one.cavity, grade: one.result === "lower_grade" ? (one.grade ?? lowerGrades(own)[0] ?? own) : own, serial: serials[index]! }));
}
