// What is done with an entry the server refused.

import type { RecordRow, Store } from "../db";
import { newId } from "../domain/id";
import type { Id } from "../types";
import { liesOver, liveRows, overlay, replaceRows } from "./outbox";

/** Puts a refused entry, or one set aside, back into the queue as it is. */
export async function tryAgain(db: Store, seq: number): Promise<void> {
  await db.transaction("rw", db.outbox, db.records, db.photoIndex, async () => {
    const row = await db.outbox.get(seq);
    if (!row || row.code === "corrected") return;
    await db.photoIndex.where("application").equals(row.record).and((photo) => photo.state === "set_aside").modify({ state: "waiting", next_at: 0 });
    await db.outbox.update(seq, { state: "waiting", attempts: 0, next_at: 0, code: undefined, message: undefined, field: undefined });
    await layOver(db, row.production, row.record);
  });
}

/** Somebody has signed in: what was refused because the one before them may not write it is sent again. */
export async function retryNotAllowed(db: Store): Promise<void> {
  await db.outbox.where("state").equals("refused").and((row) => row.code === "not_allowed").modify({ state: "waiting", attempts: 0, next_at: 0 });
}

/** Keeps an entry on the phone and in the export, but sends it no more and shows it no more in the record. */
export async function setAside(db: Store, seq: number): Promise<void> {
  const freshId = newId();
  await db.transaction("rw", db.outbox, db.records, async () => {
    const row = await db.outbox.get(seq);
    if (!row) return;
    if (!liesOver(row)) return void (await db.outbox.update(seq, { state: "set_aside" }));
    const rows = await liveRows(db, row.production, row.record);
    // Without its first entry a new record has nothing to be changed: its later entries go aside with it.
    const aside = row.based_on === null ? rows : [row];
    for (const entry of aside) await db.outbox.update(entry.seq!, { state: "set_aside" });
    // What was based on it starts anew from what the server has.
    const rest = rows.filter((entry) => entry.seq! > row.seq! && !aside.includes(entry));
    const record = await db.records.get([row.production, row.record]);
    if (rest.length && record) {
      const { seq: _seq, code: _code, message: _message, field: _field, ...base } = row;
      const fresh = { ...base, id: freshId, happened_at: rest.at(-1)!.happened_at, made_by: rest.at(-1)!.made_by, frozen: false, attempts: 0, next_at: 0 };
      await replaceRows(db, row, rest, record, overlay(record.server, record.server_withdrawn, rest).document, fresh);
    }
    await layOver(db, row.production, row.record);
  });
}

/** Works out again what the screens see of a record. Call inside a transaction over outbox and records. */
export async function layOver(db: Store, production: Id, id: Id): Promise<void> {
  const record = await db.records.get([production, id]);
  if (!record) return;
  const rows = await liveRows(db, production, id);
  if (!record.server && !rows.length) {
    await db.records.delete([production, id]);
    return;
  }
  await db.records.update([production, id], (kept: RecordRow) => {
    Object.assign(kept, overlay(record.server, record.server_withdrawn, rows));
  });
}
