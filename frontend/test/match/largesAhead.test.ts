// Large pictures fetched ahead of being asked for. Cases constructed here.

import "fake-indexeddb/auto";
import { afterEach, beforeEach, expect, test } from "vitest";
import { Store } from "../../src/db";
import { newId } from "../../src/domain/id";
import { fetchLargesAhead } from "../../src/store/largesAhead";
import { NoAnswer } from "../../src/sync/api";
import { keepLarge } from "../../src/sync/largePhotos";
import { write } from "../../src/sync/outbox";
import type { JsonObject } from "../../src/types";

const production = newId();
const author = { production, crew: newId() };
let db: Store;

beforeEach(() => { db = new Store(`test-${newId()}`); });
afterEach(() => db.delete());

const photo = (sha256: string, angle: string, moment = "applied"): JsonObject => ({ sha256, angle, moment, taken_at: "2026-03-01T10:00:00Z" });

/** A look with the photos of its established application, and a scene in it shot on a day. */
async function lookShot(date: string, photos: JsonObject, establish = true): Promise<void> {
  const application = await write(db, author, "application", null, { photos });
  const look = await write(db, author, "look", null, { name: "Cut brow", ...(establish ? { established: application } : {}) });
  const scene = await write(db, author, "scene", null, { number: date, worn: [{ character: newId(), look }] });
  await write(db, author, "shoot_day", null, { date, unit: newId(), crew_call: "06:00", wrap: "18:00", scenes: [{ scene }] });
}

async function fetchedOn(today: string, missing: string[] = []): Promise<string[]> {
  const asked: string[] = [];
  await fetchLargesAhead(db, production, today, async (sha256) => {
    asked.push(sha256);
    return missing.includes(sha256) ? null : { bytes: new ArrayBuffer(10), type: "image/webp" };
  });
  return asked;
}

test("the established photos of the coming shoot days come, in the order in which they are shot", async () => {
  await lookShot("2026-03-09", { a: photo("monday", "front") });
  await lookShot("2026-03-05", { a: photo("thursday", "front"), b: photo("thursday close", "close_up") });
  await lookShot("2026-03-20", { a: photo("much later", "front") });
  await lookShot("2026-03-06", { a: photo("friday", "front") });
  await lookShot("2026-03-02", { a: photo("shot already", "front") });
  await lookShot("2026-03-05", { a: photo("not established", "front") }, false);
  expect(await fetchedOn("2026-03-05")).toEqual(["thursday", "thursday close", "friday", "monday"]);
});

test("of each angle the one that shows the look best; bare skin never", async () => {
  await lookShot("2026-03-05", { a: photo("applied", "front"), b: photo("on set", "front", "on_set"), c: photo("skin", "close_up", "removed") });
  expect(await fetchedOn("2026-03-05")).toEqual(["on set"]);
});

test("what is kept is not fetched again; what is not ready is asked for the next time", async () => {
  await lookShot("2026-03-05", { a: photo("kept", "front"), b: photo("not ready", "close_up") });
  await keepLarge(db, production, "kept", new ArrayBuffer(10), "image/webp");
  expect(await fetchedOn("2026-03-05", ["not ready"])).toEqual(["not ready"]);
  expect(await fetchedOn("2026-03-05")).toEqual(["not ready"]);
  expect(await fetchedOn("2026-03-05")).toEqual([]);
});

test("without a network it stops, and what was fetched stays", async () => {
  await lookShot("2026-03-05", { a: photo("first", "front"), b: photo("second", "close_up") });
  const fetching = fetchLargesAhead(db, production, "2026-03-05", async (sha256) => {
    if (sha256 === "second") throw new NoAnswer("network", 0);
    return { bytes: new ArrayBuffer(10), type: "image/webp" };
  });
  await expect(fetching).rejects.toThrow();
  expect((await db.larges.toCollection().primaryKeys()).map(([, sha256]) => sha256)).toEqual(["first"]);
});
