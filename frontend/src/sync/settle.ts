// What goes of the outbox, and what becomes of it once the server has answered.

import type { OutboxRow, RecordRow, Store } from "../db";
import { mergePatch } from "../domain/mergePatch";
import type { Id, JsonObject } from "../types";
import { isDue } from "./backoff";
import { layOver } from "./needsYou";
import { liesOver, liveRows, overlay } from "./outbox";

export interface EntryResult {
  id: Id;
  result: "stored" | "repeat" | "conflict" | "held" | "refused";
  code?: string | null;
  message?: string | null;
  retryable?: boolean | null;
  field?: string | null;
  revision?: Id | null;
}

// Not "held": the server keeps it, and shows it to nobody until the entry it is based on comes. So it is asked about again.
const ACCEPTED: ReadonlySet<string> = new Set(["stored", "repeat", "conflict"]);

/** The entry as it goes over the wire. */
export function wireEntry(row: OutboxRow): JsonObject {
  return {
    id: row.id, kind: row.kind, record: row.record, based_on: row.based_on, happened_at: row.happened_at,
    made_by: row.made_by, patch: row.patch, ...(row.seen === undefined ? {} : { seen: row.seen }), ...(row.withdrawn !== undefined ? { withdrawn: row.withdrawn } : {}),
  };
}

/** The entries that can go now, frozen as they are read: the first of each record, in the order they were made. */
export async function freezeNext(
  db: Store,
  production: Id,
  at: number,
  limit: { entries: number; bytes: number },
): Promise<OutboxRow[]> {
  return db.transaction("rw", db.outbox, async () => {
    const all = (await db.outbox.orderBy("seq").toArray()).filter((row) => row.production === production && liesOver(row));
    const seen = new Set<Id>();
    // New records the server has not been given: an entry that names one of them would only be refused, so it waits.
    const unknown = new Set(all.filter((row) => row.based_on === null).map((row) => row.record));
    const chosen: OutboxRow[] = [];
    let bytes = 0;
    for (const row of all) {
      if (seen.has(row.record)) continue;
      seen.add(row.record);
      const text = JSON.stringify(wireEntry(row));
      if (row.state !== "waiting" || !isDue(row.next_at, at)) continue;
      if ([...unknown].some((id) => id !== row.record && text.includes(id))) continue;
      const size = new TextEncoder().encode(text).length + 1;
      if (chosen.length && (chosen.length >= limit.entries || bytes + size > limit.bytes)) break;
      bytes += size;
      chosen.push(row);
      unknown.delete(row.record);
    }
    for (const row of chosen) {
      if (row.frozen) continue;
      row.frozen = true;
      await db.outbox.update(row.seq!, { frozen: true });
    }
    return chosen;
  });
}

/** Takes the server's answers: what is accepted leaves the outbox, what is refused for good goes to "needs you". */
export async function settle(db: Store, sent: OutboxRow[], results: EntryResult[], retryAt: (attempts: number) => number): Promise<number> {
  const answers = new Map(results.map((result) => [result.id, result]));
  let done = 0;
  await db.transaction("rw", db.outbox, db.records, db.meta, db.sentEntries, async () => {
    for (const row of sent) {
      const current = await db.outbox.get(row.seq!);
      if (!current) continue;
      const answer = answers.get(row.id);
      if (answer && ACCEPTED.has(answer.result)) {
        done += 1;
        await accept(db, current, answer);
      } else if (answer?.result === "refused" && answer.retryable === false && !(await waitsForAnother(db, current, answer))) {
        await db.outbox.update(row.seq!, {
          state: "refused",
          code: answer.code ?? "refused",
          message: answer.message ?? "The server did not take it.",
          ...(answer.field ? { field: answer.field } : {}),
        });
      } else {
        const attempts = current.attempts + 1;
        await db.outbox.update(row.seq!, { attempts, next_at: retryAt(attempts) });
      }
    }
  });
  return done;
}

async function waitsForAnother(db: Store, row: OutboxRow, answer: EntryResult): Promise<boolean> {
  if (answer.code !== "unknown_reference") return false;
  const text = JSON.stringify(row.patch);
  const rows = await db.outbox.where("state").anyOf("waiting", "refused").toArray();
  return rows.some((other) => other.based_on === null && other.record !== row.record && text.includes(other.record));
}

const unsettledOf = (production: Id): string => `unsettled:${production}`;

/** The feed has been read to its end: what was laid over records by entries that have left is in them now, or in a conflict. */
export async function settleRead(db: Store, production: Id): Promise<void> {
  const name = unsettledOf(production);
  if (!(await db.meta.get(name))) return;
  await db.transaction("rw", db.outbox, db.records, db.meta, async () => {
    for (const id of new Set((await db.getMeta<Id[]>(name)) ?? [])) await layOver(db, production, id);
    await db.meta.delete(name);
  });
}

async function accept(db: Store, row: OutboxRow, answer: EntryResult): Promise<void> {
  await db.outbox.delete(row.seq!);
  // Each step of an order is told by its entry alone, and so is why something was taken back.
  if ((row.kind === "order" || row.withdrawn !== undefined) && !(await db.sentEntries.get(row.id))) await db.sentEntries.add(row);
  const record = await db.records.get([row.production, row.record]);
  if (!record) return;
  if (record.revision !== row.based_on) {
    // The change feed has already brought something newer, with this entry or without: that stands once it is read to its end.
    const name = unsettledOf(row.production);
    await db.setMeta(name, [...((await db.getMeta<Id[]>(name)) ?? []), row.record]);
    return;
  }
  const server = row.withdrawn === undefined ? (mergePatch(record.server ?? {}, row.patch) as JsonObject) : (record.server ?? {});
  const serverWithdrawn = record.server_withdrawn || row.withdrawn !== undefined;
  const rows = await liveRows(db, row.production, row.record);
  await db.records.update([row.production, row.record], (kept: RecordRow) => {
    kept.server = server;
    kept.server_withdrawn = serverWithdrawn;
    kept.revision = answer.revision ?? row.id;
    Object.assign(kept, overlay(server, serverWithdrawn, rows));
  });
}
