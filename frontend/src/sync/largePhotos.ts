// Large pictures (2000 pixels on the longer edge), kept on the phone once they were looked at, so that photos can be
// compared again without a network. The ones not looked at for longest make room.

import type { Store } from "../db";
import type { Id } from "../types";
import { api, NoAnswer, ServerError } from "./api";

export const LARGE_BUDGET = 80 * 1024 * 1024;

/** own: as this phone took it, not sent yet. */
export type Size = "large" | "own" | "small";
export interface Picture { size: Size; blob: Blob }

/** The best picture of a photo that lies on this phone. */
export async function pictureKept(db: Store, production: Id, sha256: string): Promise<Picture | null> {
  const key: [Id, string] = [production, sha256];
  const large = await db.larges.get(key);
  if (large) {
    if (Date.now() - large.used_at > 3_600_000) void db.larges.update(key, { used_at: Date.now() });
    return { size: "large", blob: new Blob([large.bytes], { type: large.media_type }) };
  }
  const own = await db.photoBytes.get(key);
  const found = own ?? (await db.thumbs.get(key));
  return found ? { size: own ? "own" : "small", blob: new Blob([found.bytes], { type: found.media_type }) } : null;
}

/** The large picture from the server, kept on the way; null where it cannot be had just now. */
export async function pictureFetched(db: Store, production: Id, sha256: string, budget = LARGE_BUDGET): Promise<Picture | null> {
  try {
    const { bytes, type } = await api.bytes(`/api/productions/${production}/photos/${sha256}/large`);
    await keepLarge(db, production, sha256, bytes, type, budget).catch(() => undefined);
    return { size: "large", blob: new Blob([bytes], { type }) };
  } catch (error) {
    if (error instanceof NoAnswer || error instanceof ServerError) return null;
    throw error;
  }
}

/** Keeps a large picture; the ones not looked at for longest make room. */
export async function keepLarge(db: Store, production: Id, sha256: string, bytes: ArrayBuffer, type: string, budget = LARGE_BUDGET): Promise<void> {
  await db.transaction("rw", db.larges, async () => {
    await db.larges.put({ production, sha256, media_type: type, bytes, size: bytes.byteLength, used_at: Date.now() });
    const rows: { key: [Id, string]; size: number }[] = [];
    await db.larges.orderBy("used_at").each((row) => rows.push({ key: [row.production, row.sha256], size: row.size }));
    let total = rows.reduce((sum, row) => sum + row.size, 0);
    for (const row of rows) {
      if (total <= budget) break;
      await db.larges.delete(row.key);
      total -= row.size;
    }
  });
}
