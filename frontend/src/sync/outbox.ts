// What is written on this phone, until the server has answered for it.
//
// `write()` is the one way a record changes (screens call it through `save` of store/save.ts): the record and its
// outbox row go down in one transaction, in which nothing waits for a network, a timer, a hash or a picture.
// An entry that is not being sent yet takes later changes of its record into itself; once sending has started it is
// frozen, and a later change is a new entry based on it. So a record never has more than a few entries waiting.
//
// An entry leaves the outbox only when an answer with the right status, shape and id says so (settle.ts). A refused
// one goes to "needs you" (needsYou.ts) and holds up no other. Photos follow their record, by sha256, in pieces, each
// on its own (files.ts). Nothing here needs a part of the app that is loaded later.

import type { OutboxRow, PhotoRow, RecordRow, Store } from "../db";
import { newId } from "../domain/id";
import { composePatches, diffPatch, mergePatch, sameJson } from "../domain/mergePatch";
import { now } from "../domain/moment";
import type { Id, JsonObject, Kind, MediaType } from "../types";

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

/** The code of an entry that a restored server has lost, and that is not given back by itself: shown as needing somebody, and no more. */
export const LOST = "lost_with_backup";

/** Whether an entry lies over its record: one that is set aside does not, and one that is lost does not. */
export const liesOver = (row: OutboxRow): boolean => row.state !== "set_aside" && row.code !== LOST;

/** Lays the entries of one record over what the server gave. */
export function overlay(
  server: JsonObject | null,
  serverWithdrawn: boolean,
  rows: OutboxRow[],
): { document: JsonObject; withdrawn: boolean } {
  let document: JsonObject = server ?? {};
  let withdrawn = serverWithdrawn;
  for (const row of rows) {
    if (!liesOver(row)) continue;
    if (row.withdrawn !== undefined) withdrawn = true;
    else document = mergePatch(document, row.patch) as JsonObject;
  }
  return { document, withdrawn };
}

/** The entries of one record that lie over it, in order. */
export async function liveRows(db: Store, production: Id, record: Id): Promise<OutboxRow[]> {
  const rows = await db.outbox.where("[production+record]").equals([production, record]).sortBy("seq");
  return rows.filter(liesOver);
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

/** What a document lists as photos, by sha256. */
export const filesOf = (document: JsonObject): string[] => Object.values((document.photos ?? {}) as Record<string, { sha256?: string }>).flatMap((photo) => photo.sha256 ?? []);

/** A photo that was just taken off the sheet, and that no entry and no answer of the server ever listed, is let go. */
async function dropUnlisted(db: Store, production: Id, id: Id, before: JsonObject, document: JsonObject): Promise<void> {
  const gone = filesOf(before).filter((sha256) => !filesOf(document).includes(sha256));
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
export async function replaceRows(
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
