// The one way screens write.
//
//   const id = await save("copy", null, { appliance, serial, grade: "hero" });   a new record; returns its id
//   await save("copy", id, { state: "lost" });                                   a change: a JSON Merge Patch, null removes
//   await withdraw("copy", id, "Entered twice");                                 takes the record back; it stays in the log
//
// It shows at once (optimistic), works without a network, and is sent by itself. Throws `NoRoom` when the phone is full;
//   problem = await whyNotKept(() => save(…))                                    null, or the sentence for the screen

import { db, isOutOfRoom, withRoom } from "../db";
import { engine } from "../sync/engine.svelte";
import { type NewPhoto, write } from "../sync/outbox";
import { session } from "../sync/session.svelte";
import type { Documents, Id, JsonObject, Kind } from "../types";

/** A patch of T: every member may be absent, or null to remove it. */
export type Patch<T> = T extends unknown[] ? T : T extends object ? { [K in keyof T]?: Patch<T[K]> | null } : T;

export class NoRoom extends Error {
  constructor() {
    super("This phone has no room left. Nothing of this change was kept: make room, or export what is not sent and send it first.");
  }
}

/** Does what writes, and returns null; where the phone has no room for it, the words to show. Other faults are thrown. */
export async function whyNotKept(what: () => Promise<unknown>): Promise<string | null> {
  try {
    await what();
    return null;
  } catch (error) {
    if (!(error instanceof NoRoom)) throw error;
    return error.message;
  }
}

export async function save<K extends Kind>(
  kind: K,
  id: Id | null,
  patch: Patch<Documents[K]>,
  options: { photos?: NewPhoto[]; id?: Id } = {},
): Promise<Id> {
  return run(kind, id, patch as JsonObject, options);
}

export async function withdraw(kind: Kind, id: Id, reason: string): Promise<void> {
  await run(kind, id, {}, { withdrawn: reason });
}

async function run(kind: Kind, id: Id | null, patch: JsonObject, options: Parameters<typeof write>[5]): Promise<Id> {
  const production = session.production;
  if (!production) throw new Error("No production is chosen");
  try {
    // A copy of plain data: what comes from a screen may be a reactive proxy, which IndexedDB cannot hold.
    const plain = JSON.parse(JSON.stringify(patch)) as JsonObject;
    const written = await withRoom(db, () => write(db, { production: production.id, crew: production.crew }, kind, id, plain, options));
    engine.kick();
    return written;
  } catch (error) {
    if (isOutOfRoom(error)) throw new NoRoom();
    throw error;
  }
}
