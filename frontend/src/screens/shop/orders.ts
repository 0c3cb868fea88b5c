// The order of orders, and what one says.

import { dayWords } from "../../domain/moment";
import type { Day, Id, OrderDocument, OrderState, Rec } from "../../types";
import { dueWords } from "./dueWords";

type Row = Pick<Rec<"order">, "id" | "document">;

/** An order the server has not been told a state of stands as asked for. */
export const stateOfOrder = (document: OrderDocument): OrderState => document.state ?? "asked_for";
/** The shop has still something to make of it. */
export const isOpen = ({ document }: Row): boolean => ["asked_for", "taken_on", "casting"].includes(stateOfOrder(document));
/** The shop has taken it on: nobody changes it over the shop's head. */
export const isUnderWay = (document: OrderDocument): boolean => ["taken_on", "casting"].includes(stateOfOrder(document));
export const isOnItsWay = ({ document }: Row): boolean => stateOfOrder(document) === "sent";

/** The order of an appliance that stands open, the cover's own first. What this phone knows of it is newer than the last cover. */
export const openOrderOf = <T extends Row>(orders: readonly T[], appliance: Id): T | undefined => {
  const open = orders.filter((order) => order.document.appliance === appliance && isOpen(order));
  return open.find(({ document }) => document.raised_by !== "hand") ?? open[0];
};

/** A question that is asked and not answered yet. */
export const isAsked = (document: OrderDocument): boolean => isUnderWay(document) && !!document.question && !document.answer;

/** Open orders, those with a question first, then what must be started first: what is late for its day already, then by latest start, then by the day it is needed. */
export function openFirstStart<T extends Row>(orders: readonly T[]): T[] {
  const start = ({ document }: Row): string => document.latest_start ?? (document.raised_by === "hand" ? document.needed_on : "");
  return orders.filter(isOpen).sort((one, other) =>
    Number(isAsked(other.document)) - Number(isAsked(one.document)) || start(one).localeCompare(start(other)) || one.document.needed_on.localeCompare(other.document.needed_on));
}

/** Orders that are done with, the last needed first. */
export const closedLastFirst = <T extends Row>(orders: readonly T[]): T[] => orders.filter((order) => !isOpen(order) && !isOnItsWay(order)).sort((one, other) => other.document.needed_on.localeCompare(one.document.needed_on));
export const onTheirWay = <T extends Row>(orders: readonly T[]): T[] => orders.filter(isOnItsWay).sort((one, other) => (one.document.expected_on ?? "9999").localeCompare(other.document.expected_on ?? "9999"));

/** When it must be started, as a tag: "start by Mon 2 Mar", "start today", "2 days late", "start now". */
export function startTag(document: OrderDocument, today: Day): { words: string; late: boolean } {
  if (isUnderWay(document)) return { words: "under way", late: false };
  if (!document.latest_start) {
    // Asked for by hand with no latest start: the day it is needed is what there is.
    if (document.raised_by === "hand") return { words: `needed ${dueWords(document.needed_on, today).words}`, late: document.needed_on < today };
    // Out of reach in time: every day counts.
    return { words: "start now", late: true };
  }
  const due = dueWords(document.latest_start, today);
  if (due.late) return due;
  return { words: due.words === dayWords(document.latest_start) ? `start by ${due.words}` : `start ${due.words}`, late: false };
}

/** The latest start as a sentence. */
export function startSentence(document: OrderDocument, today: Day): string {
  if (!document.latest_start) return document.raised_by === "hand" ? "No latest start was worked out: it was asked for by hand." : "Start now: it is late for its day already.";
  if (document.latest_start < today) return `It should have been started on ${dayWords(document.latest_start)}.`;
  return document.latest_start === today ? "Start today: a working day later it is not enough." : `Start on ${dayWords(document.latest_start)} at the latest.`;
}

/** What is asked of the shop in a question, against what the order says: "9 copies instead of 6, needed on Thu 4 Dec instead of Fri 5 Dec". */
export function questionWords(document: OrderDocument): string {
  const asked = document.question;
  if (!asked) return "";
  if (asked.copies === 0) return "None of it is needed any more. Is it to be called off?";
  const parts = [
    asked.copies !== document.copies ? `${asked.copies} ${asked.copies === 1 ? "copy" : "copies"} instead of ${document.copies}` : "",
    asked.needed_on !== document.needed_on ? `needed on ${dayWords(asked.needed_on)} instead of ${dayWords(document.needed_on)}` : "",
    asked.latest_start && asked.latest_start !== document.latest_start ? `started by ${dayWords(asked.latest_start)}` : "",
  ].filter(Boolean);
  return parts.length ? `${parts.join(", ").replace(/^./, (letter) => letter.toUpperCase())}.` : "The reason has changed.";
}
