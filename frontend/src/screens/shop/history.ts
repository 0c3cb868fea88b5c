// What was said of an order so far: each change dated, and by whom. Asked of the server, kept for when there is no network.

import type { components } from "../../api.generated";
import { db } from "../../db";
import { dayWords } from "../../domain/moment";
import { words } from "../../domain/words";
import { api, NoAnswer, ServerError } from "../../sync/api";
import { session } from "../../sync/session.svelte";
import type { Id, Moment } from "../../types";

type Answer = components["schemas"]["OrderHistoryAnswer"];
export type Change = Answer["changes"][number];
export interface HistoryLine { at: Moment; by: Id | null; words: string }

const copiesOf = (count: number): string => `${count} ${count === 1 ? "copy" : "copies"}`;

function changeWords(change: Change): string {
  const numbers = [change.copies !== null ? copiesOf(change.copies) : "", change.needed_on ? `needed ${dayWords(change.needed_on)}` : ""].filter(Boolean).join(", ");
  const more = numbers ? `: ${numbers}` : "";
  if (change.answer) return change.answer === "agreed" ? `Agreed to the change${more}` : "Kept as it is";
  if (change.asked !== null) return change.asked === 0 ? "Asked whether to call it off" : `Asked to make it ${copiesOf(change.asked)}`;
  if (change.state) return `${words.order_state[change.state]}${more}`;
  return numbers ? `Now ${numbers}` : "The question went";
}

/** The oldest first. A run of changes that nobody but the cover made shows its last: it grows and shrinks every day. */
export function historyLines(changes: readonly Change[]): HistoryLine[] {
  const quiet = (change: Change | undefined): boolean => !!change && change.by === null && !change.state && change.asked === null && !change.answer;
  return changes.filter((change, index) => !(quiet(change) && quiet(changes[index + 1]))).map((change) => ({ at: change.at, by: change.by, words: changeWords(change) }));
}

/** What is kept, then what the server says. `show` is called with each. */
export async function readHistory(order: Id, show: (changes: Change[]) => void): Promise<void> {
  const name = `history:${session.chosen}:${order}`;
  const kept = await db.getMeta<Change[]>(name);
  if (kept) show(kept);
  try {
    const { changes } = await api.get<Answer>(`/api/productions/${session.chosen}/orders/${order}/history`, "order_history");
    show(changes);
    await db.setMeta(name, changes);
  } catch (error) {
    if (!(error instanceof NoAnswer || error instanceof ServerError)) throw error;
  }
}
