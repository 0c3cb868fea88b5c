// The small pictures kept for showing without a network. Cases constructed here.

import "fake-indexeddb/auto";
import { afterEach, beforeEach, expect, test } from "vitest";
import { Store } from "../../src/db";
import { sizeWords } from "../../src/domain/bytes";
import { newId } from "../../src/domain/id";
import { fetchAhead, keepThumb, THUMB_BUDGET, thumbsKept } from "../../src/store/thumbs";
import { NoAnswer } from "../../src/sync/api";
import { write } from "../../src/sync/outbox";

const production = newId();
const author = { production, crew: newId() };
let db: Store;

beforeEach(() => { db = new Store(`test-${newId()}`); });
afterEach(() => db.delete());

/** Sheets of one look, a photo each: the name says when it was taken. */
async function sheets(names: string[], established?: string): Promise<void> {
  const ids = new Map<string, string>();
  for (const name of names) {
    ids.set(name, await write(db, author, "application", null, { look: "l", photos: { p: { sha256: name, taken_at: `2026-03-${name.slice(1)}T10:00:00Z`, angle: "front", moment: "applied" } } }));
  }
  await write(db, author, "look", null, { name: "Cut brow", ...(established ? { established: ids.get(established)! } : {}) });
}
const kept = async (): Promise<string[]> => (await db.thumbs.toArray()).map((row) => row.sha256).sort();
const small = (size: number) => ({ bytes: new ArrayBuffer(size), type: "image/webp" });

test("established first, then the newest, as many as the budget holds", async () => {
  await sheets(["d01", "d02", "d03", "d04", "d05"], "d02");
  const asked: string[] = [];
  const { fetched } = await fetchAhead(db, production, async (sha256) => { asked.push(sha256); return small(100); }, 300);
  expect(asked).toEqual(["d02", "d05", "d04"]);
  expect(fetched).toBe(3);
  expect(await thumbsKept(db)).toEqual({ count: 3, bytes: 300 });
});

test("what is kept already is not fetched again, and what cannot be had now is passed over", async () => {
  await sheets(["d01", "d02", "d03"]);
  await keepThumb(db, production, "d03", new ArrayBuffer(50), "image/webp");
  const asked: string[] = [];
  const answer = await fetchAhead(db, production, async (sha256) => { asked.push(sha256); return sha256 === "d02" ? null : small(50); });
  expect(answer).toEqual({ fetched: 1, missing: 1 });
  expect(asked).toEqual(["d02", "d01"]);
  expect(await kept()).toEqual(["d01", "d03"]);
  asked.length = 0;
  await fetchAhead(db, production, async (sha256) => { asked.push(sha256); return small(50); });
  expect(asked).toEqual(["d02"]);
});

test("without a network it stops, and what was fetched stays", async () => {
  await sheets(["d01", "d02", "d03"]);
  let count = 0;
  await expect(fetchAhead(db, production, async () => { if (count++) throw new NoAnswer("network", 0); return small(10); })).rejects.toThrow();
  expect(await kept()).toEqual(["d03"]);
});

test("when it is full, what no sheet has goes first, then the oldest, and the established one last", async () => {
  await sheets(["d01", "d02", "d03", "d04"], "d01");
  for (const name of ["d01", "gone", "d02", "d03"]) await keepThumb(db, production, name, new ArrayBuffer(100), "image/webp", 400);
  expect(await kept()).toEqual(["d01", "d02", "d03", "gone"]);
  await keepThumb(db, production, "d04", new ArrayBuffer(100), "image/webp", 400);
  expect(await kept()).toEqual(["d01", "d03", "d04"]);
  await keepThumb(db, production, "elsewhere", new ArrayBuffer(250), "image/webp", 300);
  expect(await kept()).toEqual(["d01", "d04"]);
  await keepThumb(db, production, "d01", new ArrayBuffer(100), "image/webp", 110);
  expect(await kept()).toEqual(["d01"]);
});

test("an old photo that was looked at does not push out the newer ones", async () => {
  await sheets(["d01", "d02", "d03"]);
  for (const name of ["d02", "d03", "d01"]) await keepThumb(db, production, name, new ArrayBuffer(100), "image/webp", 250);
  expect(await kept()).toEqual(["d02", "d03"]);
});

test("sizes are said as shops say them", () => {
  expect([0, 3_400_000, 12_300_000, 340_000_000, 999_700_000, 10_737_418_240, 128_000_000_000].map(sizeWords)).toEqual(["0 MB", "3.4 MB", "12 MB", "340 MB", "1 GB", "10.7 GB", "128 GB"]);
  expect(sizeWords(THUMB_BUDGET)).toBe("60 MB");
});
