// What is said of the sending as a whole. Cases constructed here.

import "fake-indexeddb/auto";
import { afterEach, beforeEach, expect, test } from "vitest";
import { db } from "../src/db";
import { newId } from "../src/domain/id";
import { engine } from "../src/sync/engine.svelte";
import { write } from "../src/sync/outbox";
import { session } from "../src/sync/session.svelte";
import { signIn, signOut } from "../src/sync/signing";
import type { Kind } from "../src/types";
import { TestServer } from "./server";

// Node has none, and a browser without locks has one without them.
(globalThis as { navigator?: object }).navigator ??= {};
const fromOwnAddress = globalThis.fetch;
const author = { production: newId(), crew: newId() };
let server: TestServer;

beforeEach(async () => {
  server = new TestServer();
  const base = await server.start();
  // The app asks the address it was opened at; here that is the test's server.
  globalThis.fetch = (path, init) => fromOwnAddress(`${base}${String(path)}`, init);
  await session.refresh();
});
afterEach(async () => {
  globalThis.fetch = fromOwnAddress;
  await server.stop();
  await Promise.all(db.tables.map((table) => table.clear()));
  session.forget();
});

test("a phone too full to note that it sends says so, keeps what was written, and sends once there is room", async () => {
  await write(db, author, "copy", null, { serial: "CB-1" });
  await db.outbox.toCollection().modify({ next_at: 1 });
  const full = (): never => {
    throw new DOMException("full", "QuotaExceededError");
  };
  db.outbox.hook("updating", full);
  await engine.sendNow();
  expect(engine.problem).toMatch(/no room/);
  expect(engine.sending).toBe(false);
  expect(await db.outbox.count()).toBe(1);
  db.outbox.hook("updating").unsubscribe(full);
  await engine.sendNow();
  expect(engine.problem).toBeNull();
  expect(await db.outbox.count()).toBe(0);
  expect(server.stored).toHaveLength(1);
});

test("what the next person at the phone may not write goes when somebody signs in who may", async () => {
  const id = await write(db, author, "performer", null, { name: "Tamsin Oakhollow" });
  const another = await write(db, author, "copy", null, { serial: "CB-1" });
  server.refuse.set(id, { code: "not_allowed", retryable: false });
  server.refuse.set(another, { code: "serial_taken", retryable: false });
  await engine.sendNow();
  expect((await db.outbox.toArray()).map((row) => row.state)).toEqual(["refused", "refused"]);
  server.refuse.clear();
  await engine.sendNow();
  expect(server.stored).toHaveLength(0);
  expect(await signIn("artist", "the password")).toBeNull();
  await engine.sendNow();
  // A serial that is taken stays taken, whoever signs in.
  expect((await db.outbox.toArray()).map((row) => row.record)).toEqual([another]);
  expect(server.entries.get(server.stored[0]!)).toMatchObject({ record: id, made_by: author.crew });
});

test("with whoever signs out goes what was kept of what they had sent; what is not sent yet, or is to be sent again, stays", async () => {
  const { production } = author;
  await write(db, author, "copy", null, { serial: "CB-1" });
  await db.sentEntries.put((await db.outbox.toArray())[0]!);
  for (const sha256 of ["sent", "again"]) {
    await db.sentPhotos.put({ production, sha256, application: newId(), size: 1, media_type: "image/jpeg", sent_at: 1 });
    await db.sentBytes.put({ production, sha256, bytes: new ArrayBuffer(1) });
  }
  await db.photoIndex.put({ ...(await db.sentPhotos.get([production, "again"]))!, state: "waiting", received: 0, attempts: 0, next_at: 0, added_at: 1 });
  await signOut();
  expect((await db.sentBytes.toArray()).map((row) => row.sha256)).toEqual(["again"]);
  expect((await db.sentPhotos.toArray()).map((row) => row.sha256)).toEqual(["again"]);
  expect(await db.sentEntries.count()).toBe(0);
  expect(await db.outbox.count()).toBe(1);
});

test("what the server answers to somebody who has signed out meanwhile is not kept", async () => {
  session.productions = [{ id: author.production, name: "The Long Winter", role: "set_artist", crew: author.crew }];
  await session.choose(author.production);
  const told = { seq: 1, kind: "copy", id: newId(), revision: newId(), withdrawn: false, happened_at: "2026-03-02T06:00:00+00:00", received_at: "2026-03-02T06:00:01+00:00", made_by: author.crew };
  server.changes = [{ ...told, document: { serial: "CB-1" } }];
  let left = false;
  server.always = async (request) => {
    if (!request.url!.includes("/changes?") || left) return false;
    left = true;
    await signOut();
    return false;
  };
  await engine.sendNow();
  expect(left).toBe(true);
  expect(await db.records.count()).toBe(0);
  expect(await db.meta.where("name").startsWith("cursor:").count()).toBe(0);
});

test("who has signed out while the server was asked who they are is not signed in again", async () => {
  let left = false;
  server.always = async (request) => {
    if (request.method !== "GET" || left) return false;
    left = true;
    await signOut();
    return false;
  };
  expect(await session.refresh()).toBe(false);
  expect(left).toBe(true);
  expect(session.user).toBeNull();
  expect(await db.getMeta("session")).toBeUndefined();
});

test("another tab in which somebody has signed out brings nothing back either", async () => {
  await db.meta.delete("session");
  await engine.sendNow();
  expect(session.user).toBeNull();
  expect(await db.getMeta("session")).toBeUndefined();
});

test("what is given back is of the production it was written for, whichever is chosen", () => {
  const [here, there] = [newId(), newId()];
  session.productions = [{ id: here, name: "Here", role: "shop", crew: "me here" }, { id: there, name: "There", role: "set_artist", crew: "me there" }];
  session.chosen = there;
  const may = (production: string, made_by: string, kind: Kind): boolean => session.mayGiveBack({ production, made_by, kind });
  expect([may(here, "me here", "order"), may(here, "me there", "order"), may(there, "me there", "application")]).toEqual([true, false, true]);
  // A shop's copy of a performer has no health notes: given back it would take them away.
  expect([may(here, "me here", "performer"), may(there, "me there", "performer"), may(there, "me there", "conflict")]).toEqual([false, true, false]);
});
