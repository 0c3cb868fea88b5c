// The order of orders, and what one says.

import { dayWords } from "../../domain/moment";
import type { Day, Id, OrderDocument, Rec } from "../../types";
import { dueWords } from "./dueWords";

type Row = Pick<Rec<"order">, "id" | "document">;

/** An order the server has not been told a state of stands as asked for. */
export const stateOfOrder = (document: OrderDocument) => document.state ?? "asked_for";
export const isOpen = ({ document }: Row): boolean => ["asked_for", "taken_on"].includes(stateOfOrder(document));

/** The order of an appliance that stands open; there is one at most. What this phone knows of it is newer than the last cover. */
export const openOrderOf = <T extends Row>(orders: readonly T[], appliance: Id): T | undefined => orders.find((order) => order.document.appliance === appliance && isOpen(order));

/** Open orders, what must be started first at the top: what is late for its day already, then by latest start, then by the day it is needed. */
export function openFirstStart<T extends Row>(orders: readonly T[]): T[] {
  const start = ({ document }: Row): string => document.latest_start ?? "";
  return orders.filter(isOpen).sort((one, other) => start(one).localeCompare(start(other)) || one.document.needed_on.localeCompare(other.document.needed_on));
}

/** Orders that are done with, the last needed first. */
export const closedLastFirst = <T extends Row>(orders: readonly T[]): T[] => orders.filter((order) => !isOpen(order)).sort((one, other) => other.document.needed_on.localeCompare(one.document.needed_on));

/** When it must be started, as a tag: "start by Mon 2 Mar", "start today", "2 days late", "start now". */
export function startTag(document: OrderDocument, today: Day): { words: string; late: boolean } {
  if (stateOfOrder(document) === "taken_on") return { words: "under way", late: false };
  // Out of reach in time: every day counts.
  if (!document.latest_start) return { words: "start now", late: true };
  const due = dueWords(document.latest_start, today);
  if (due.late) return due;
  return { words: due.words === dayWords(document.latest_start) ? `start by ${due.words}` : `start ${due.words}`, late: false };
}
