// What is written on this phone, until the server has answered for it.
//
// `write()` is the one way a record changes (screens call it through `save` of store/save.ts): the record and its
// outbox row go down in one transaction, in which nothing waits for a network, a timer, a hash or a picture.
// An entry that is not being sent yet takes later changes of its record into itself; once sending has started it is
// frozen, and a later change is a new entry based on it. So a record never has more than a few entries waiting.
//
// An entry leaves the outbox only when an answer with the right status, shape and id says so (`settle()`). A refused
// one goes to "needs you" and holds up no other. Photos follow their record, by sha256, in pieces, each on its own
// (files.ts); the phone forgets a photo's bytes once the server says that it has stored that sha256.

import type { OutboxRow, PhotoRow, RecordRow, Store } from "../db";
import { newId } from "../domain/id";
import { composePatches, diffPatch, mergePatch, sameJson } from "../domain/mergePatch";
import { now } from "../domain/moment";
import { isDue } from "./backoff";
import type { Id, JsonObject, Kind, MediaType, Moment } from "../types";

export interface Author {
  production: Id;
  crew: Id;
}

/** A photo that is ready to be kept: stripped, hashed, with its small picture. */
export interface NewPhoto {
  sha256: string;
  media_type: MediaType;
  bytes: ArrayBuffer;
  thumb?: { bytes: ArrayBuffer; media_type: string };
}

export interface EntryResult {
  id: Id;
  result: "stored" | "repeat" | "conflict" | "held" | "refused";
  code?: string | null;
  message?: string | null;
  retryable?: boolean | null;
  field?: string | null;
  revision?: Id | null;
}

/** What of a record a restored server has. */
export interface Restored {
  revision: Id;
  received_at: Moment;
  seq: number;
  document: JsonObject;
}

// Not "held": the server keeps it, and shows it to nobody until the entry it is based on comes. So it is asked about again.
const ACCEPTED: ReadonlySet<string> = new Set(["stored", "repeat", "conflict"]);

/** Lays the entries of one record over what the server gave. Entries set aside do not count. */
export function overlay(
  server: JsonObject | null,
  serverWithdrawn: boolean,
  rows: OutboxRow[],
): { document: JsonObject; withdrawn: boolean } {
  let document: JsonObject = server ?? {};
  let withdrawn = serverWithdrawn;
  for (const row of rows) {
    if (row.state === "set_aside") continue;
    if (row.withdrawn !== undefined) withdrawn = true;
    else document = mergePatch(document, row.patch) as JsonObject;
  }
  return { document, withdrawn };
}

/** The entries of one record, in order, those set aside left out. */
export async function liveRows(db: Store, production: Id, record: Id): Promise<OutboxRow[]> {
  const rows = await db.outbox.where("[production+record]").equals([production, record]).sortBy("seq");
  return rows.filter((row) => row.state !== "set_aside");
}

async function namesLaterCreation(db: Store, seq: number, patch: JsonObject): Promise<boolean> {
  const later = await db.outbox.where("seq").above(seq).toArray();
  const text = JSON.stringify(patch);
  return later.some((row) => row.based_on === null && text.includes(row.record));
}

/** An order goes from state to state, each said by somebody at a time: "taken on" and "casting" are never one entry. */
const isStep = (kind: Kind, patch: JsonObject): boolean => kind === "order" && "state" in patch;

/**
 * Writes a change of a record: `patch` is a JSON Merge Patch, for a new record (`record` null) the whole document.
 * Returns the record's id. A patch that changes nothing writes nothing.
 */
export async function write(
  db: Store,
  author: Author,
  kind: Kind,
  record: Id | null,
  patch: JsonObject,
  options: { withdrawn?: string; photos?: NewPhoto[]; id?: Id } = {},
): Promise<Id> {
  const { production, crew } = author;
  const id = record ?? options.id ?? newId();
  const entryId = newId();
  const happenedAt = now();
  const addedAt = Date.now();
  const { withdrawn, photos = [] } = options;

  await db.transaction("rw", [db.records, db.outbox, db.photoIndex, db.photoBytes, db.thumbs], async () => {
    const row = await db.records.get([production, id]);
    if (record && !row) throw new Error(`No ${kind} with the id ${id} on this phone`);
    const rows = await liveRows(db, production, id);
    const before = row?.document ?? {};
    const document = mergePatch(before, patch) as JsonObject;
    if (row && withdrawn === undefined && sameJson(before, document) && !photos.length) return;

    const refused = rows.filter((entry) => entry.state === "refused");
    const last = rows.at(-1);
    const fresh = {
      id: entryId, production, kind, record: id, happened_at: happenedAt, made_by: crew, frozen: false, attempts: 0, next_at: 0,
    } as const;

    if (refused.length && withdrawn === undefined) {
      // The correction of a refused entry is a new entry with everything in it; the refused one is kept aside.
      await replaceRows(db, rows[0]!, rows, row, document, fresh);
    } else {
      let joined: JsonObject | null = null;
      if (last?.state === "waiting" && !last.frozen && last.made_by === crew && last.withdrawn === undefined && withdrawn === undefined && !isStep(kind, patch)) {
        const moved = await namesLaterCreation(db, last.seq!, patch);
        if (!moved) joined = last.based_on === null ? (mergePatch(last.patch, patch) as JsonObject) : composePatches(last.patch, patch);
      }
      if (joined) {
        await db.outbox.update(last!.seq!, (entry) => {
          entry.patch = joined;
          entry.happened_at = happenedAt;
        });
      } else {
        await db.outbox.add({
          ...fresh,
          based_on: last?.id ?? row?.revision ?? null,
          // What others wrote while an entry of this phone lay over it has not been seen.
          seen: last ? (last.seen ?? 0) : (row?.seq ?? 0),
          patch: withdrawn !== undefined ? {} : row ? patch : document,
          ...(withdrawn !== undefined ? { withdrawn } : {}),
          state: "waiting",
        });
      }
    }

    await db.records.put({
      production, id, kind,
      server: row?.server ?? null,
      document: withdrawn === undefined ? document : before,
      derived: row?.derived ?? {},
      server_withdrawn: row?.server_withdrawn ?? false,
      withdrawn: withdrawn !== undefined || (row?.withdrawn ?? false),
      revision: row?.revision ?? null,
      made_by: row?.made_by ?? crew,
      happened_at: row?.happened_at ?? happenedAt,
      ...(row?.received_at ? { received_at: row.received_at } : {}),
      seq: row?.seq ?? 0,
    });

    await dropUnlisted(db, production, id, before, document);
    for (const photo of photos) {
      const index: PhotoRow = {
        production, sha256: photo.sha256, application: id, size: photo.bytes.byteLength, media_type: photo.media_type,
        state: "waiting", received: 0, attempts: 0, next_at: 0, added_at: addedAt,
      };
      await db.photoIndex.put(index);
      await db.photoBytes.put({ production, sha256: photo.sha256, media_type: photo.media_type, bytes: photo.bytes });
      if (photo.thumb) {
        await db.thumbs.put({
          production, sha256: photo.sha256, media_type: photo.thumb.media_type, bytes: photo.thumb.bytes,
          size: photo.thumb.bytes.byteLength, used_at: addedAt,
        });
      }
    }
  });
  return id;
}

/** A photo that was just taken off the sheet, and that no entry and no answer of the server ever listed, is let go. */
async function dropUnlisted(db: Store, production: Id, id: Id, before: JsonObject, document: JsonObject): Promise<void> {
  const hashes = (one: JsonObject): string[] => Object.values((one.photos ?? {}) as Record<string, { sha256?: string }>).flatMap((photo) => photo.sha256 ?? []);
  const gone = hashes(before).filter((sha256) => !hashes(document).includes(sha256));
  if (!gone.length) return;
  const record = await db.records.get([production, id]);
  const entries = await db.outbox.where("[production+record]").equals([production, id]).toArray();
  const listed = JSON.stringify([record?.server, entries.map((entry) => entry.patch)]);
  for (const sha256 of gone.filter((one) => !listed.includes(one))) {
    await db.photoIndex.delete([production, sha256]);
    await db.photoBytes.delete([production, sha256]);
  }
}

/**
 * Puts one new entry in the place of several of a record: the whole difference from what the server has. It is based on
 * what `first` was: what others wrote since then lay under these entries, and has not been seen. An entry that may have
 * left the phone (sent, or exported) is kept aside; the others are in the new one. Call inside a transaction.
 */
async function replaceRows(
  db: Store,
  first: OutboxRow,
  rows: OutboxRow[],
  record: RecordRow | undefined,
  document: JsonObject,
  fresh: Omit<OutboxRow, "based_on" | "patch" | "state">,
): Promise<void> {
  for (const entry of rows) {
    if (entry.state === "refused" || entry.frozen) await db.outbox.update(entry.seq!, { state: "set_aside", code: "corrected" });
    else await db.outbox.delete(entry.seq!);
  }
  const server = record?.server ?? null;
  const patch = server ? diffPatch(server, document) : document;
  if (server && !Object.keys(patch).length) return;
  // A refused first entry of a record that the server has after all has nothing to go by but that record.
  const base = first.based_on ? { based_on: first.based_on, seen: first.seen ?? 0 } : { based_on: record!.revision, seen: record!.seq };
  await db.outbox.add({ ...fresh, ...(server ? base : { based_on: null, seen: 0 }), patch, state: "waiting" });
}

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
    const all = (await db.outbox.orderBy("seq").toArray()).filter((row) => row.production === production && row.state !== "set_aside");
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
  await db.transaction("rw", db.outbox, db.records, db.meta, async () => {
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

/**
 * The server was restored from a backup and has lost what was written last to these records: it goes there again, before
 * whatever of them is not sent yet. `now` is what the server has. Each entry has the id of the one that was lost, so that
 * what is based on that fits, and two phones of one person that both do this say the same. Call inside a transaction.
 */
export async function giveBack(db: Store, production: Id, records: RecordRow[], now: ReadonlyMap<Id, Restored>): Promise<void> {
  const rows = await db.outbox.orderBy("seq").toArray();
  const known = new Set(rows.map((row) => row.id));
  let place = rows[0]?.seq ?? 1;
  // A place in the feed as it was says nothing of the feed as it is.
  for (const row of rows) if (row.production === production && !row.frozen) await db.outbox.update(row.seq!, { seen: 0 });
  for (const record of [...records].sort((one, other) => other.seq - one.seq)) {
    const { id, kind, server, revision, made_by, happened_at } = record;
    const left = now.get(id);
    // What somebody wrote later, on what the server has, stands.
    const isLost = !left || (left.revision !== revision && left.received_at <= (record.received_at ?? left.received_at));
    if (!isLost || !server || !revision || record.server_withdrawn || known.has(revision)) continue;
    const give = async (entry: Id, basedOn: Id | null, patch: JsonObject): Promise<void> => {
      place -= 1;
      await db.outbox.add({
        seq: place, id: entry, production, kind, record: id, based_on: basedOn, seen: left?.seq ?? 0, happened_at, made_by, patch,
        state: "waiting", frozen: true, attempts: 0, next_at: 0,
      });
    };
    if (left) {
      await give(revision, left.revision, diffPatch(left.document, server));
    } else if (server.established) {
      // The sheet that a look is held to names the look: the look goes first, and says afterwards what it is held to.
      const { established, established_reason: reason, ...first } = server;
      await give(newId(), revision, { established, ...(reason === undefined ? {} : { established_reason: reason }) });
      await give(revision, null, first);
    } else {
      await give(revision, null, server);
    }
  }
}

/** Puts a refused entry, or one set aside, back into the queue as it is. */
export async function tryAgain(db: Store, seq: number): Promise<void> {
  await db.transaction("rw", db.outbox, db.records, db.photoIndex, async () => {
    const row = await db.outbox.get(seq);
    if (!row || row.code === "corrected") return;
    await db.photoIndex.where("application").equals(row.record).and((photo) => photo.state === "set_aside").modify({ state: "waiting", next_at: 0 });
    await db.outbox.update(seq, { state: "waiting", attempts: 0, next_at: 0 });
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
async function layOver(db: Store, production: Id, id: Id): Promise<void> {
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
