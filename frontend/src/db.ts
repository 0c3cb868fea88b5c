// The phone's store, and the only module that knows it is IndexedDB. Use the functions of store/ and sync/;
// screens never touch these tables. Tables:
//   records      what the screens show: the server's document with what is not sent yet laid over it
//   outbox       entries in the order they were made, until the server has answered for each
//   photoIndex   photos whose file is not confirmed yet, without the bytes (so that a list is cheap)
//   photoBytes   their bytes as ArrayBuffer (Safari has lost Blobs kept in IndexedDB)
//   thumbs       small pictures for showing offline, within a budget
//   larges       large pictures of photos that were compared, within a budget of their own
//   sentPhotos   photos that were sent from this phone, without the bytes
//   sentBytes    their bytes for a while, should the server be restored from a backup (sync/sentPhotos.ts)
//   sentEntries  entries that were sent, of what no record tells whole: steps of orders, and what was taken back
//   meta         device id, session, cursors

import { Dexie, type Table } from "dexie";
import type { Derived, Id, JsonObject, Kind, MediaType, Moment } from "./types";

export interface RecordRow {
  production: Id;
  id: Id;
  kind: Kind;
  /** The document as the server last gave it; null while only this phone knows the record. */
  server: JsonObject | null;
  /** The server's document with every entry of the outbox laid over it. */
  document: JsonObject;
  derived: Derived;
  server_withdrawn: boolean;
  withdrawn: boolean;
  revision: Id | null;
  made_by: Id;
  happened_at: Moment;
  received_at?: Moment;
  seq: number;
}

/** waiting: to be sent · refused: the server said no for good ("needs you") · set_aside: kept and exported, not sent. */
export type EntryState = "waiting" | "refused" | "set_aside";

export interface OutboxRow {
  seq?: number;
  id: Id;
  production: Id;
  kind: Kind;
  record: Id;
  based_on: Id | null;
  /** The place in the feed up to which its maker had seen the record. Rows kept by an older version have none. */
  seen?: number;
  happened_at: Moment;
  made_by: Id;
  patch: JsonObject;
  withdrawn?: string;
  state: EntryState;
  /** Sending has started once: from then on the entry never changes. */
  frozen: boolean;
  attempts: number;
  /** Milliseconds since 1970; not tried again before. */
  next_at: number;
  code?: string;
  message?: string;
  field?: string;
}

export interface PhotoRow {
  production: Id;
  sha256: string;
  application: Id;
  size: number;
  media_type: MediaType;
  /** waiting: to be sent · unreadable: refused, or no longer on this phone ("needs you"). */
  state: "waiting" | "unreadable" | "set_aside";
  received: number;
  attempts: number;
  next_at: number;
  added_at: number;
  message?: string;
}

export interface PhotoBytes { production: Id; sha256: string; media_type: MediaType; bytes: ArrayBuffer }
export interface SentPhoto { production: Id; sha256: string; application: Id; size: number; media_type: MediaType; sent_at: number }
export interface SentBytes { production: Id; sha256: string; bytes: ArrayBuffer }
export interface ThumbRow { production: Id; sha256: string; media_type: string; bytes: ArrayBuffer; size: number; used_at: number }
export interface MetaRow { name: string; value: unknown }

export class Store extends Dexie {
  declare records: Table<RecordRow, [Id, Id]>;
  declare outbox: Table<OutboxRow, number>;
  declare photoIndex: Table<PhotoRow, [Id, string]>;
  declare photoBytes: Table<PhotoBytes, [Id, string]>;
  declare thumbs: Table<ThumbRow, [Id, string]>;
  declare larges: Table<ThumbRow, [Id, string]>;
  declare sentPhotos: Table<SentPhoto, [Id, string]>;
  declare sentBytes: Table<SentBytes, [Id, string]>;
  declare sentEntries: Table<OutboxRow, Id>;
  declare meta: Table<MetaRow, string>;

  constructor(name = "continuity") {
    super(name);
    this.version(1).stores({
      records: "[production+id], [production+kind]",
      outbox: "++seq, &id, [production+record], state",
      photoIndex: "[production+sha256], application",
      photoBytes: "[production+sha256]",
      thumbs: "[production+sha256], used_at",
      meta: "name",
    });
    this.version(2).stores({ larges: "[production+sha256], used_at" });
    // By size and use, so that both are known without reading the pictures.
    this.version(3).stores({ thumbs: "[production+sha256], [size+used_at]" });
    this.version(4).stores({ sentPhotos: "[production+sha256]", sentBytes: "[production+sha256]", sentEntries: "id, production" });
  }

  async getMeta<T>(name: string): Promise<T | undefined> {
    return (await this.meta.get(name))?.value as T | undefined;
  }

  async setMeta(name: string, value: unknown): Promise<void> {
    await this.meta.put({ name, value });
  }
}

export const db = new Store();

/** Whether the store failed because the device has no room left. */
export function isOutOfRoom(error: unknown): boolean {
  const name = (error as { name?: string } | null)?.name;
  const inner = (error as { inner?: { name?: string } } | null)?.inner?.name;
  return name === "QuotaExceededError" || inner === "QuotaExceededError";
}

/**
 * Does what writes to the store; when there is no room, what the server has as well makes room, and it is done again:
 * originals that were sent first, then pictures that can be fetched again.
 */
export async function withRoom<T>(store: Store, what: () => Promise<T>, ways = [dropSent, dropPictures]): Promise<T> {
  try {
    return await what();
  } catch (error) {
    if (!isOutOfRoom(error)) throw error;
    for (const [index, makeRoom] of ways.entries()) {
      if (await makeRoom(store)) return withRoom(store, what, ways.slice(index + 1));
    }
    throw error;
  }
}

/** Of these the ones of photos that are not sent yet, or are to be sent again, left out. */
export async function sentOnly(store: Store, table: Table<unknown, [Id, string]>): Promise<[Id, string][]> {
  const own = new Set((await store.photoIndex.toCollection().primaryKeys()).map((key) => key.join(" ")));
  return (await table.toCollection().primaryKeys()).filter((key) => !own.has(key.join(" ")));
}

/** Each answers whether there was anything to drop. */
async function dropSent(store: Store): Promise<boolean> {
  return store.transaction("rw", store.photoIndex, store.sentBytes, async () => {
    const sent = await sentOnly(store, store.sentBytes);
    await store.sentBytes.bulkDelete(sent);
    return sent.length > 0;
  });
}

async function dropPictures(store: Store): Promise<boolean> {
  return store.transaction("rw", store.photoIndex, store.thumbs, store.larges, async () => {
    const fetched = await sentOnly(store, store.thumbs);
    const larges = await store.larges.count();
    await store.thumbs.bulkDelete(fetched);
    await store.larges.clear();
    return fetched.length + larges > 0;
  });
}
