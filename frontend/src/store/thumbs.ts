// Small pictures kept on the phone, so that Match works without a network: fetched ahead while there is one, the
// established ones first, then the newest, within a budget of storage. When it is full the least useful make room:
// those no sheet has any more, then the oldest; an established one never before others.
//
//   await keepThumb(db, production, sha256, bytes, type)    one that was looked at
//   await fetchAhead(db, production, fetchSmall)            as many as there is room for

import type { Store } from "../db";
import type { Id } from "../types";

/** In bytes. Said on the page of this phone. */
export const THUMB_BUDGET = 60_000_000;
/** Room is made down to this share of the budget, so that it is not made anew with every photo. */
const ROOMY = 0.95;

/** `awaited`: still on the phone that took it. */
export interface Useful { sha256: string; established: boolean; awaited: boolean }

interface Known { id: Id; kind: string; withdrawn: boolean; document: Record<string, unknown>; derived?: { files?: Record<string, string> } }

/** The photos of a production, the most useful first: those of established applications, then the others; each newest first. */
export function usefulOrder(records: readonly Known[]): Useful[] {
  const held = new Set(records.filter((row) => row.kind === "look" && !row.withdrawn).map((row) => row.document.established));
  const photos = records.filter((row) => row.kind === "application" && !row.withdrawn).flatMap((row) =>
    Object.values((row.document.photos ?? {}) as Record<string, { sha256: string; taken_at: string }>)
      .map(({ sha256, taken_at }) => ({ sha256, taken_at, established: held.has(row.id), awaited: row.derived?.files?.[sha256] === "awaited" })));
  return photos
    .sort((one, other) => Number(other.established) - Number(one.established) || other.taken_at.localeCompare(one.taken_at))
    .map(({ sha256, established, awaited }) => ({ sha256, established, awaited }));
}

async function usefulIn(db: Store, production: Id): Promise<Useful[]> {
  const records = await db.records.where("[production+kind]").anyOf([[production, "look"], [production, "application"]]).toArray();
  return usefulOrder(records);
}

interface Row { key: [Id, string]; size: number; used_at: number }

/** All that is kept, without reading the pictures themselves. */
async function rowsOf(db: Store): Promise<Row[]> {
  const bySize = db.thumbs.orderBy("[size+used_at]");
  const [sizes, keys] = [(await bySize.keys()) as unknown as [number, number][], await bySize.primaryKeys()];
  return keys.map((key, index) => ({ key, size: sizes[index]![0], used_at: sizes[index]![1] }));
}

export async function thumbsKept(db: Store): Promise<{ count: number; bytes: number }> {
  const rows = await db.transaction("r", db.thumbs, () => rowsOf(db));
  return { count: rows.length, bytes: rows.reduce((sum, row) => sum + row.size, 0) };
}

export async function keepThumb(db: Store, production: Id, sha256: string, bytes: ArrayBuffer, mediaType: string, budget = THUMB_BUDGET): Promise<void> {
  await db.transaction("rw", db.thumbs, db.records, async () => {
    await db.thumbs.put({ production, sha256, media_type: mediaType, bytes, size: bytes.byteLength, used_at: Date.now() });
    await makeRoom(db, budget);
  });
}

async function makeRoom(db: Store, budget: number): Promise<void> {
  const rows = await rowsOf(db);
  let total = rows.reduce((sum, row) => sum + row.size, 0);
  if (total <= budget) return;
  const places = new Map<string, number>();
  const established = new Set<string>();
  for (const production of new Set(rows.map((row) => row.key[0]))) {
    for (const [place, useful] of (await usefulIn(db, production)).entries()) {
      const key = `${production} ${useful.sha256}`;
      places.set(key, Math.min(place, places.get(key) ?? Infinity));
      if (useful.established) established.add(key);
    }
  }
  const named = rows.map((row) => ({ row, key: row.key.join(" ") }));
  const placeOf = (key: string): number => places.get(key) ?? Number.MAX_SAFE_INTEGER;
  named.sort((one, other) => Number(established.has(one.key)) - Number(established.has(other.key)) || placeOf(other.key) - placeOf(one.key) || one.row.used_at - other.row.used_at);
  for (const { row } of named) {
    if (total <= budget * ROOMY) break;
    await db.thumbs.delete(row.key);
    total -= row.size;
  }
}

/**
 * How many were fetched, and how many could not be had. `fetchSmall` answers null for a photo that is not ready, and
 * throws when there is no use in going on.
 */
export async function fetchAhead(
  db: Store,
  production: Id,
  fetchSmall: (sha256: string) => Promise<{ bytes: ArrayBuffer; type: string } | null>,
  budget = THUMB_BUDGET,
): Promise<{ fetched: number; missing: number }> {
  const sizes = new Map((await db.transaction("r", db.thumbs, () => rowsOf(db))).map((row) => [row.key.join(" "), row.size]));
  let planned = 0;
  let fetched = 0;
  let missing = 0;
  for (const { sha256, awaited } of await usefulIn(db, production)) {
    if (planned >= budget * ROOMY) break;
    const kept = sizes.get(`${production} ${sha256}`);
    if (kept !== undefined) {
      planned += kept;
      continue;
    }
    if (awaited) continue;
    const small = await fetchSmall(sha256);
    if (!small) {
      missing += 1;
      continue;
    }
    planned += small.bytes.byteLength;
    await keepThumb(db, production, sha256, small.bytes, small.type, budget);
    fetched += 1;
  }
  return { fetched, missing };
}
