// What is done with parcels: packed, sent, looked through. The copies' own states are written first: they are what the supply
// counts, and where the phone dies in between, the parcel shows what is still to be said.

import { now } from "../../domain/moment";
import { type Arrived, copyPatch, countOf, openParcelOf, orderIsIn, parcelPatch } from "../../domain/parcel";
import { recordsOf } from "../../store/live.svelte";
import { save } from "../../store/save";
import { session } from "../../sync/session.svelte";
import type { Day, Id, ParcelDocument, Rec } from "../../types";
import { isUnderWay, stateOfOrder } from "./orders";
import { stateOf } from "./stock.svelte";

/** Copies in the shop that lie in no parcel yet, the first to expire first. */
export function packable(): Rec<"copy">[] {
  const parcels = recordsOf("parcel").list;
  return recordsOf("copy").list
    .filter((copy) => stateOf(copy.id).state === "shop" && !openParcelOf(parcels, copy.id))
    .sort((one, other) => (one.document.use_by ?? "9999").localeCompare(other.document.use_by ?? "9999") || one.document.serial.localeCompare(other.document.serial, "en", { numeric: true }));
}

/** Sends a packed parcel: its copies are in transit, and the order is sent when its parcels hold as many as asked. */
export async function sendParcel(id: Id, parcel: ParcelDocument, expectedOn: Day, by: string): Promise<void> {
  for (const copy of Object.keys(parcel.copies ?? {})) await save("copy", copy, { state: "in_transit", expected_on: expectedOn });
  await save("parcel", id, { sent_at: now(), expected_on: expectedOn, by: by || null });
  const order = recordsOf("order").get(parcel.order);
  if (!order) return;
  const before = recordsOf("parcel").list.filter((other) => other.id !== id && other.document.order === order.id && other.document.sent_at);
  const sent = [parcel, ...before.map(({ document }) => document)].reduce((sum, one) => sum + countOf(one).all, 0);
  if (isUnderWay(order.document)) await save("order", order.id, { expected_on: expectedOn, ...(sent >= order.document.copies ? { state: "sent" as const } : {}) });
}

/** Says what became of one copy; with the last one the parcel is received, and the order with it when nothing of it is on the way. */
export async function tell(id: Id, copy: Id, what: Arrived, note = ""): Promise<void> {
  const parcel = recordsOf("parcel").get(id)!.document;
  await save("copy", copy, copyPatch(what, note));
  const patch = parcelPatch(parcel, copy, what, note, now());
  await save("parcel", id, patch);
  const order = recordsOf("order").get(parcel.order);
  if (!patch.received_at || !order || stateOfOrder(order.document) !== "sent" || session.production?.role === "shop") return;
  if (orderIsIn({ id: order.id, copies: order.document.copies }, recordsOf("parcel").list, id)) await save("order", order.id, { state: "arrived" });
}

/** It was told too early: it is on its way again. */
export async function untell(id: Id, copy: Id): Promise<void> {
  const parcel = recordsOf("parcel").get(id)!.document;
  await save("copy", copy, { state: "in_transit", expected_on: parcel.expected_on ?? null });
  await save("parcel", id, { copies: { [copy]: { arrived: null, note: null } }, received_at: null });
}
