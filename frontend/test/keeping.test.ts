// What leaves the phone as a file. Cases constructed here.

import "fake-indexeddb/auto";
import { createHash } from "node:crypto";
import { afterEach, beforeEach, describe, expect, test } from "vitest";
import { isOutOfRoom, Store, withRoom } from "../src/db";
import { newId } from "../src/domain/id";
import { createApi } from "../src/sync/api";
import { exportUnsent, handIn } from "../src/sync/export";
import { setAside } from "../src/sync/needsYou";
import { write } from "../src/sync/outbox";
import { sendEntries } from "../src/sync/send";
import { TestServer } from "./server";

const production = newId();
const author = { production, crew: newId() };
const device = newId();
let db: Store;
let server: TestServer;
let base: string;

beforeEach(async () => {
  db = new Store(`test-${newId()}`);
  server = new TestServer();
  base = await server.start();
});
afterEach(async () => {
  await server.stop();
  await db.delete();
});

const lines = async (file: Blob): Promise<Record<string, any>[]> => (await file.text()).trimEnd().split("\n").map((line) => JSON.parse(line));

test("the file holds a head, every entry in order, those set aside too, and the photos whole", async () => {
  const bytes = Uint8Array.from({ length: 100_000 }, (_, index) => (index * 31) % 256).buffer;
  const sha256 = createHash("sha256").update(new Uint8Array(bytes)).digest("hex");
  await write(db, author, "copy", null, { serial: "CB-1" });
  await write(db, author, "copy", null, { serial: "CB-2" });
  await write(db, author, "application", null, { photos: { a: { sha256 } } }, { photos: [{ sha256, media_type: "image/jpeg", bytes }] });
  await write(db, { ...author, production: newId() }, "copy", null, { serial: "of another production" });
  await setAside(db, (await db.outbox.orderBy("seq").first())!.seq!);

  const file = await exportUnsent(db, production, device);
  expect(file.type).toBe("application/x-ndjson");
  const [head, ...rest] = await lines(file);
  expect(head).toMatchObject({ continuity_unsent: 1, production, device });
  expect(rest.slice(0, 3).map((line) => line.entry.patch.serial ?? line.entry.kind)).toEqual(["CB-1", "CB-2", "application"]);
  expect(Object.keys(rest[0]!.entry).sort()).toEqual(["based_on", "happened_at", "id", "kind", "made_by", "patch", "record", "seen"]);
  expect(rest).toHaveLength(4);
  expect(rest[3]!.photo).toMatchObject({ sha256, size: 100_000, media_type: "image/jpeg" });
  expect(createHash("sha256").update(Buffer.from(rest[3]!.photo.base64, "base64")).digest("hex")).toBe(sha256);
  // Exporting takes nothing off the phone.
  expect(await db.outbox.count()).toBe(4);
  expect(await db.photoBytes.count()).toBe(1);
});

test("handing in a file takes what the server confirms out of this phone's outbox, and nothing else", async () => {
  await write(db, author, "copy", null, { serial: "CB-1" });
  const refused = await write(db, author, "copy", null, { serial: "CB-2" });
  const file = await exportUnsent(db, production, device);
  server.refuse.set(refused, { code: "serial_taken", retryable: false });
  server.always = (request, response, body) => {
    if (!request.url!.endsWith("/unsent")) return false;
    const entries = body.toString().trimEnd().split("\n").map((line) => JSON.parse(line).entry).filter(Boolean);
    return server.json(response, 200, { answer: "unsent", results: server.keep(entries), photos: [] });
  };
  const api = createApi(base);
  const answer = await handIn(db, api, production, file);
  expect(answer.results.map((result) => result.result)).toEqual(["stored", "refused"]);
  expect((await db.outbox.toArray()).map((row) => row.record)).toEqual([refused]);
});

test("what was exported and then sent is the same entry, so that both ways end in one", async () => {
  await write(db, author, "copy", null, { serial: "CB-1" });
  const [, line] = await lines(await exportUnsent(db, production, device));
  // An entry in a file is out of hand: a later change must not go into it.
  const [row] = await db.outbox.toArray();
  await write(db, author, "copy", row!.record, { note: "written after the export" });
  const api = createApi(base);
  api.csrf = server.csrf;
  server.keep([line!.entry]);
  await sendEntries({ db, api, device, renew: async () => true }, production);
  expect([...server.entries.values()].map((entry) => entry.patch)).toEqual([{ serial: "CB-1" }, { note: "written after the export" }]);
  expect(await db.outbox.count()).toBe(0);
});

test("a full phone is told from other trouble, also when it comes from inside a transaction", () => {
  expect(isOutOfRoom(new DOMException("full", "QuotaExceededError"))).toBe(true);
  expect(isOutOfRoom(Object.assign(new Error("Aborted"), { name: "AbortError", inner: { name: "QuotaExceededError" } }))).toBe(true);
  expect(isOutOfRoom(new Error("something else"))).toBe(false);
});

describe("a phone without room", () => {
  const picture = (sha256: string) => ({ production, sha256, media_type: "image/webp", bytes: new ArrayBuffer(9), size: 9, used_at: 1 });

  /** Nothing more goes in while pictures that can be fetched again lie in it; never anything where `ever` is true. */
  function full(ever = false): void {
    db.outbox.hook("creating", () => {
      if (ever || hasPictures) throw new DOMException("full", "QuotaExceededError");
    });
  }
  let hasPictures = true;
  beforeEach(async () => {
    hasPictures = true;
    await db.larges.put(picture("a"));
    await db.thumbs.bulkPut([picture("a"), picture("mine")]);
    await db.photoIndex.put({
      production, sha256: "mine", application: newId(), size: 9, media_type: "image/jpeg", state: "waiting", received: 0, attempts: 0, next_at: 0, added_at: 1,
    });
    db.larges.hook("deleting", () => { hasPictures = false; });
  });
  const keep = () => withRoom(db, () => write(db, author, "copy", null, { serial: "CB-1" }));

  test("keeps what is written, and lets go of pictures that can be fetched again", async () => {
    full();
    await keep();
    expect(await db.outbox.count()).toBe(1);
    expect(await db.larges.count()).toBe(0);
    // The picture of a photo that is not sent yet can be had from nowhere else.
    expect((await db.thumbs.toArray()).map((row) => row.sha256)).toEqual(["mine"]);
  });

  test("lets go of originals that were sent before anything that is looked at, and never of one that is to be sent again", async () => {
    await db.sentBytes.bulkPut(["a", "mine"].map((sha256) => ({ production, sha256, bytes: new ArrayBuffer(9) })));
    let hasSent = true;
    db.sentBytes.hook("deleting", () => { hasSent = false; });
    db.outbox.hook("creating", () => {
      if (hasSent) throw new DOMException("full", "QuotaExceededError");
    });
    await keep();
    expect(await db.outbox.count()).toBe(1);
    expect((await db.sentBytes.toArray()).map((row) => row.sha256)).toEqual(["mine"]);
    expect([await db.larges.count(), await db.thumbs.count()]).toEqual([1, 2]);
  });

  test("says so when there is none to be made", async () => {
    full(true);
    await expect(keep()).rejects.toSatisfy(isOutOfRoom);
    expect(await db.outbox.count()).toBe(0);
    expect(await db.records.count()).toBe(0);
    await expect(keep()).rejects.toSatisfy(isOutOfRoom);
  });
});
