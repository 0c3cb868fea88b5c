// Everything this phone holds that the server has not confirmed, as a file: so that a dying phone loses nothing.
// Lines of JSON: a head, then the entries in order (those refused and set aside too), then the photos.

import type { Store } from "../db";
import { now } from "../domain/moment";
import type { Id } from "../types";
import { type Api } from "./api";
import { originalOf } from "./sentPhotos";
import { type EntryResult, settle, wireEntry } from "./settle";

export const UNSENT_TYPE = "application/x-ndjson";

function base64(bytes: ArrayBuffer): string {
  const all = new Uint8Array(bytes);
  let text = "";
  for (let at = 0; at < all.length; at += 0x8000) text += String.fromCharCode(...all.subarray(at, at + 0x8000));
  return btoa(text);
}

export async function exportUnsent(db: Store, production: Id, device: Id): Promise<Blob> {
  // What is in a file may reach the server from another phone: from now on these entries do not change.
  const entries = await db.transaction("rw", db.outbox, async () => {
    const rows = (await db.outbox.orderBy("seq").toArray()).filter((row) => row.production === production);
    for (const row of rows) if (!row.frozen) await db.outbox.update(row.seq!, { frozen: true });
    return rows;
  });
  const photos = (await db.photoIndex.toArray()).filter((row) => row.production === production);
  const parts: BlobPart[] = [`${JSON.stringify({ continuity_unsent: 1, production, device, exported_at: now() })}\n`];
  for (const row of entries) parts.push(`${JSON.stringify({ entry: wireEntry(row) })}\n`);
  for (const photo of photos) {
    const kept = await originalOf(db, production, photo.sha256);
    if (!kept) continue;
    // One Blob for each, so that the browser may keep what is done out of memory.
    const line = { photo: { sha256: photo.sha256, size: photo.size, media_type: photo.media_type, base64: base64(kept) } };
    parts.push(new Blob([`${JSON.stringify(line)}\n`]));
  }
  return new Blob(parts, { type: UNSENT_TYPE });
}

export const unsentFileName = (device: Id): string => `unsent-${now().slice(0, 10)}-${device.slice(-8)}.ndjson`;

export interface HandedIn {
  answer: "unsent";
  results: EntryResult[];
  photos: { sha256: string; state: string }[];
}

/** Gives such a file to the server. What of it is this phone's own, and is now taken, leaves the outbox. */
export async function handIn(db: Store, api: Api, production: Id, file: Blob): Promise<HandedIn> {
  const answer = await api.put<HandedIn>(`/api/productions/${production}/unsent`, file, { "Content-Type": UNSENT_TYPE }, "unsent", "POST");
  const taken = answer.results.filter((result) => result.result !== "refused");
  const mine = (await db.outbox.toArray()).filter((row) => taken.some((result) => result.id === row.id));
  await settle(db, mine, taken, () => 0);
  return answer;
}
