// The cast ticket of an order: worked out by the server, kept on the phone when it was seen, so that it opens at the bench
// with no network.

import { db } from "../../db";
import { api, NoAnswer, ServerError } from "../../sync/api";
import { session } from "../../sync/session.svelte";
import type { Id, Moment } from "../../types";
import { now } from "../../domain/moment";
import type { components } from "../../api.generated";

/** Grams and millilitres are decimal text, so that the sums on it add up as printed. */
export type Ticket = components["schemas"]["TicketAnswer"];
export interface KeptTicket { at: Moment; ticket: Ticket }

const nameFor = (order: Id): string => `ticket:${session.chosen}:${order}`;

export const keptTicket = (order: Id): Promise<KeptTicket | undefined> => db.getMeta<KeptTicket>(nameFor(order));

/** Asks for it and keeps it. Returns it, or words for why there is none. */
export async function fetchTicket(order: Id): Promise<KeptTicket | { problem: string; offline: boolean }> {
  const name = nameFor(order);
  try {
    const ticket = await api.get<Ticket>(`/api/productions/${session.production!.id}/orders/${order}/ticket`, "ticket");
    const kept = { at: now(), ticket };
    await db.setMeta(name, kept);
    return kept;
  } catch (error) {
    if (error instanceof ServerError) return { problem: error.message, offline: false };
    if (error instanceof NoAnswer) return { problem: error.message, offline: true };
    throw error;
  }
}

/** Kept ahead of need; that there is no network now is no trouble. */
export async function keepTicket(order: Id): Promise<void> {
  await fetchTicket(order);
}
