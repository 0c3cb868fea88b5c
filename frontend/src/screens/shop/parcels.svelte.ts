// What is done with parcels: packed, sent, looked through. The copies' own states are written first: they are what the supply
// counts, and where the phone dies in between, the parcel shows what is still to be said.

import { now } from "../../domain/moment";
import { type Arrived, copyPatch, openParcelOf, parcelPatch } from "../../domain/parcel";
import { recordsOf } from "../../store/live.svelte";
import { save } from "../../store/save";
import type { Day, Id, ParcelDocument, Rec } from "../../types";
import { isUnderWay } from "./orders";
import { stateOf } from "./stock.svelte";

/** Copies in the shop that lie in no parcel yet, the first to expire first. */
export function packable(): Rec<"copy">[] {
  const parcels = recordsOf("parcel").list;
  return recordsOf("copy").list
    .filter((copy) => stateOf(copy.id).state === "shop" && !openParcelOf(parcels, copy.id))
    .sort((one, other) => (one.document.use_by ?? "9999").localeCompare(other.document.use_by ?? "9999") || one.document.serial.localeCompare(other.document.serial, "en", { numeric: true }));
}

/** Sends a packed parcel: its copies are in transit. The server says that the order is sent once its parcels hold enough. */
export async function sendParcel(id: Id, parcel: ParcelDocument, expectedOn: Day, by: string): Promise<void> {
  for (const copy of Object.keys(parcel.copies ?? {})) await save("copy", copy, { state: "in_transit", expected_on: expectedOn });
  const order = recordsOf("order").get(parcel.order);
  if (order && isUnderWay(order.document) && order.document.expected_on !== expectedOn) await save("order", order.id, { expected_on: expectedOn });
  await save("parcel", id, { sent_at: now(), expected_on: expectedOn, by: by || null });
}

/** Says what became of one copy; with the last one the parcel is received, and the server says that the order has arrived. */
export async function tell(id: Id, copy: Id, what: Arrived, note = ""): Promise<void> {
  await save("copy", copy, copyPatch(what, note));
  await save("parcel", id, parcelPatch(recordsOf("parcel").get(id)!.document, copy, what, note, now()));
}

/** It was told too early: it is on its way again. */
export async function untell(id: Id, copy: Id): Promise<void> {
  const parcel = recordsOf("parcel").get(id)!.document;
  await save("copy", copy, { state: "in_transit", expected_on: parcel.expected_on ?? null });
  await save("parcel", id, { copies: { [copy]: { arrived: null, note: null } }, received_at: null });
}
