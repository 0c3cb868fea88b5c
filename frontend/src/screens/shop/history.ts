// What was said of an order so far, as the server keeps it beside the order.

import { dayWords } from "../../domain/moment";
import { words } from "../../domain/words";
import type { Id, Moment, OrderState, Rec } from "../../types";

export interface Change { at: Moment; by?: Id | null; state?: OrderState | null; copies?: number | null; needed_on?: string | null; asked?: boolean; answer?: "agreed" | "declined" | null }

export interface HistoryLine { at: Moment; by: Id | null; words: string }

function changeWords(change: Change): string {
  const numbers = [change.copies ? `${change.copies} ${change.copies === 1 ? "copy" : "copies"}` : "", change.needed_on ? `needed ${dayWords(change.needed_on)}` : ""].filter(Boolean).join(", ");
  if (change.answer) return change.answer === "agreed" ? `Agreed${numbers ? `: ${numbers}` : ""}` : "Kept as it is";
  if (change.asked) return `A change asked${numbers ? `: ${numbers}` : ""}`;
  if (change.state) return `${words.order_state[change.state]}${numbers ? `: ${numbers}` : ""}`;
  return numbers ? `Changed: ${numbers}` : "Changed";
}

/** Newest last. */
export function historyLines(order: Rec<"order">): HistoryLine[] {
  const changes = (order.derived as { history?: Change[] }).history ?? [];
  return changes.map((change) => ({ at: change.at, by: change.by ?? null, words: changeWords(change) }));
}
