// What is left of a lot, and for how long, in words. What is left is worked out by the server from cast runs and applications;
// what this phone has written since is not in it yet.

import { addDays, dayWords } from "../../domain/moment";
import { recordsOf } from "../../store/live.svelte";
import type { Day, Id, MaterialDocument, Rec } from "../../types";

const UNITS = { grams: "g", millilitres: "ml", pieces: "pieces" } as const;

export const unitWords = (material: MaterialDocument): string => (material.unit ? UNITS[material.unit] : "");

export const amountWords = (amount: number, material: MaterialDocument): string => {
  const shown = String(Number(amount.toFixed(1)));
  return material.unit === "pieces" ? `${shown} ${shown === "1" ? "piece" : "pieces"}` : `${shown} ${unitWords(material)}`;
};

export const leftOf = (material: Rec<"material">): number | undefined => material.derived.left?.amount ?? lastWeighed(material.document)?.left ?? material.document.amount;

/** The weighing that counts: that of the last day, and of several on it the one that was written last. */
export function lastWeighed({ weighings = {} }: MaterialDocument): { left: number; weighed_on: Day } | undefined {
  const [last] = Object.entries(weighings).sort(([one, first], [other, second]) => second.weighed_on.localeCompare(first.weighed_on) || other.localeCompare(one));
  return last?.[1];
}

/** The day at whose end a lot held what is weighed now: today when something of today has gone out of it already, else yesterday. */
export function weighedFor(lot: Id, today: Day): Day {
  const worn = recordsOf("application").list.some(({ document }) => document.date === today && [document.edge_solvent, document.sealer, document.remover, ...Object.values(document.adhesives ?? {}).map(({ material }) => material)].includes(lot));
  const cast = recordsOf("cast_run").list.some(({ document }) => document.cast_on === today && Object.values(document.lots ?? {}).some(({ material }) => material === lot));
  return worn || cast ? today : addDays(today, -1);
}

export interface StockStanding { sort: "good" | "warn" | "bad"; words: string }

/** What to see to about a lot: expired, empty, running low, soon expired. Null where there is nothing. */
export function standingOfLot(material: Rec<"material">, today: Day): StockStanding | null {
  const { document } = material;
  const goodUntil = goodUntilOf(document);
  if (goodUntil && goodUntil < today) return { sort: "bad", words: `Past its date, ${dayWords(goodUntil)}: not to be used` };
  const left = leftOf(material);
  if (left !== undefined && left <= 0) return { sort: "bad", words: left < 0 ? `More was used than was entered: ${amountWords(-left, document)}` : "Used up" };
  if (left !== undefined && document.low_below !== undefined && left < document.low_below) {
    return { sort: "warn", words: `Running low: ${amountWords(left, document)} left` };
  }
  if (goodUntil && goodUntil <= soonAfter(today)) return { sort: "warn", words: `Good until ${dayWords(goodUntil)}` };
  return null;
}

const soonAfter = (day: Day): Day => new Date(Date.parse(`${day}T00:00:00Z`) + 14 * 86_400_000).toISOString().slice(0, 10);

/** The earlier of the date on the lot and the end of its life once opened. */
export function goodUntilOf(material: MaterialDocument): Day | undefined {
  const opened = material.opened_on && material.opened_life_days ? new Date(Date.parse(`${material.opened_on}T00:00:00Z`) + material.opened_life_days * 86_400_000).toISOString().slice(0, 10) : undefined;
  return [opened, material.expires_on].filter((day): day is Day => !!day).sort()[0];
}

/** One line for the board: "Gel, part A, lot 114: running low", or "" where nothing is to be seen to. */
export function lowWords(today: Day): string {
  const found = recordsOf("material").list.flatMap((material) => {
    const standing = standingOfLot(material, today);
    const left = leftOf(material);
    // A lot that is used up has been replaced by another; it is no news.
    return standing && !(left !== undefined && left <= 0) ? [{ name: material.document.name, standing }] : [];
  });
  if (!found.length) return "";
  const [first] = found.sort((one, other) => Number(other.standing.sort === "bad") - Number(one.standing.sort === "bad"));
  return `${first!.name}: ${first!.standing.words.replace(/^./, (letter) => letter.toLowerCase())}${found.length > 1 ? ` · ${found.length - 1} more to see to` : ""}`;
}
