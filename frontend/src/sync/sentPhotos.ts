// Originals of photos that were sent, kept for a while all the same: a server that is restored from a backup may have lost
// them. They are offered again when it awaits them, and it takes none that it has. They never stand in the way of what is
// not sent yet: when the phone is short of room they go first (db.ts).

import type { PhotoRow, Store } from "../db";
import type { Id } from "../types";

/** In bytes. Said on the page of this phone. */
export const SENT_BUDGET = 150_000_000;
export const SENT_DAYS = 7;
const LOST = "The server was restored from a backup without this photo, and this phone that sent it keeps it no longer. Another phone may still have it; if not, take it again where you can.";

/** A photo the server has now. Call inside a transaction over both tables and photoIndex. */
export async function keepSent(db: Store, { production, sha256, application, size, media_type }: PhotoRow, bytes: ArrayBuffer, at: number, budget = SENT_BUDGET): Promise<void> {
  await db.sentPhotos.put({ production, sha256, application, size, media_type, sent_at: at });
  await db.sentBytes.put({ production, sha256, bytes });
  await trimSent(db, at, budget);
}

/** Those that were sent longest ago make room; one that is to be sent again stays. */
export async function trimSent(db: Store, at: number, budget = SENT_BUDGET): Promise<void> {
  await db.transaction("rw", db.photoIndex, db.sentPhotos, db.sentBytes, async () => {
    const toBeSent = new Set((await db.photoIndex.toCollection().primaryKeys()).map((key) => key.join(" ")));
    let total = 0;
    for (const { production, sha256, size, sent_at } of (await keptRows(db)).reverse()) {
      total += size;
      const isTooMuch = total > budget || at - sent_at > SENT_DAYS * 86_400_000;
      if (isTooMuch && !toBeSent.has(`${production} ${sha256}`)) await db.sentBytes.delete([production, sha256]);
    }
  });
}

/** Those whose bytes are still here, the one sent longest ago first. */
async function keptRows(db: Store) {
  const kept = new Set((await db.sentBytes.toCollection().primaryKeys()).map((key) => key.join(" ")));
  return (await db.sentPhotos.toArray()).filter((row) => kept.has(`${row.production} ${row.sha256}`)).sort((one, other) => one.sent_at - other.sent_at);
}

export async function sentKept(db: Store): Promise<{ count: number; bytes: number }> {
  const rows = await db.transaction("r", db.sentPhotos, db.sentBytes, () => keptRows(db));
  return { count: rows.length, bytes: rows.reduce((sum, row) => sum + row.size, 0) };
}

/** The bytes of a photo that is to be sent, for the first time or again. */
export const originalOf = async (db: Store, production: Id, sha256: string): Promise<ArrayBuffer | undefined> =>
  ((await db.photoBytes.get([production, sha256])) ?? (await db.sentBytes.get([production, sha256])))?.bytes;

/** Puts photos that were sent from here among those to be sent; of those the server awaits, and that are gone here too, it says so. */
export async function offerAgain(db: Store, production: Id, awaited: string[], doubtful: string[] = []): Promise<void> {
  for (const sha256 of new Set([...awaited, ...doubtful])) {
    const sent = await db.sentPhotos.get([production, sha256]);
    if (!sent || (await db.photoIndex.get([production, sha256]))) continue;
    const isHere = (await db.sentBytes.where({ production, sha256 }).count()) > 0;
    if (!isHere && !awaited.includes(sha256)) continue;
    const { application, size, media_type, sent_at } = sent;
    await db.photoIndex.add({
      production, sha256, application, size, media_type, received: 0, attempts: 0, next_at: 0, added_at: sent_at,
      ...(isHere ? { state: "waiting" } : { state: "unreadable", message: LOST }),
    });
  }
}

/** Of photos that the server has again, from another phone, nothing more is said. */
export async function noLongerLost(db: Store, production: Id, stored: string[]): Promise<void> {
  for (const sha256 of stored) {
    const row = await db.photoIndex.get([production, sha256]);
    if (row?.state === "unreadable" && (await db.sentPhotos.get([production, sha256])) && !(await originalOf(db, production, sha256))) {
      await db.photoIndex.delete([production, sha256]);
    }
  }
}
