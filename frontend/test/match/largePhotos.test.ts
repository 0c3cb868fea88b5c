// Large pictures on the phone. Cases constructed here.

import "fake-indexeddb/auto";
import { afterEach, beforeEach, expect, test, vi } from "vitest";
import { Store } from "../../src/db";
import { newId } from "../../src/domain/id";
import { keepLarge, pictureKept } from "../../src/sync/largePhotos";

const production = newId();
let db: Store;

beforeEach(() => {
  db = new Store(`test-${newId()}`);
});
afterEach(async () => {
  vi.useRealTimers();
  await db.delete();
});

const picture = (bytes: number): ArrayBuffer => new ArrayBuffer(bytes);

test("the best picture of a photo is the large one, then the phone's own, then the small one", async () => {
  expect(await pictureKept(db, production, "a")).toBeNull();
  await db.thumbs.put({ production, sha256: "a", media_type: "image/webp", bytes: picture(10), size: 10, used_at: 1 });
  expect((await pictureKept(db, production, "a"))?.size).toBe("small");
  await db.photoBytes.put({ production, sha256: "a", media_type: "image/jpeg", bytes: picture(500) });
  expect((await pictureKept(db, production, "a"))?.size).toBe("own");
  await keepLarge(db, production, "a", picture(100), "image/webp");
  const best = await pictureKept(db, production, "a");
  expect(best?.size).toBe("large");
  expect(best?.blob.size).toBe(100);
});

test("what was not looked at for longest makes room", async () => {
  vi.useFakeTimers({ toFake: ["Date"] });
  for (const [at, sha256] of ["a", "b", "c"].entries()) {
    vi.setSystemTime(at * 7_200_000);
    await keepLarge(db, production, sha256, picture(400), "image/webp", 1300);
  }
  vi.setSystemTime(10 * 7_200_000);
  await pictureKept(db, production, "a");
  await vi.waitFor(async () => expect((await db.larges.get([production, "a"]))?.used_at).toBe(10 * 7_200_000));
  await keepLarge(db, production, "d", picture(400), "image/webp", 1300);
  expect((await db.larges.toCollection().primaryKeys()).map(([, sha256]) => sha256).sort()).toEqual(["a", "c", "d"]);
});
