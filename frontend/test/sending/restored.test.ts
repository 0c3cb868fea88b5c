// A server restored from a backup gets again the steps of orders, what was taken back, and photos. Cases constructed here.

import "fake-indexeddb/auto";
import { createHash } from "node:crypto";
import { beforeEach, describe, expect, test } from "vitest";
import { newId } from "../../src/domain/id";
import { sendFiles } from "../../src/sync/files";
import { setAside, tryAgain } from "../../src/sync/needsYou";
import { write } from "../../src/sync/outbox";
import { pull } from "../../src/sync/pull";
import { keepSent, SENT_DAYS, sentKept, trimSent } from "../../src/sync/sentPhotos";
import type { JsonObject, Kind } from "../../src/types";
import { author, change, context, copy, db, outbox, production, send, server, shown } from "./phone";

const later = "2026-03-03T06:00:00+00:00";
const told = (kind: Kind, seq: number, id: string, revision: string, document: JsonObject, more: JsonObject = {}): Record<string, any> => ({ ...change(seq, id, revision, document), kind, ...more });
/** The server is as it was when it had these, and the phone has heard so. */
async function restore(...changes: Record<string, unknown>[]): Promise<void> {
  server.changes = changes;
  server.mark = newId();
  server.entries.clear();
  server.stored.length = 0;
  expect((await pull(context, production)).stop).toBe("done");
}
const stored = () => server.stored.map((id) => server.entries.get(id));

beforeEach(() => {
  context.mayGiveBack = (written) => written.made_by === author.crew;
});

describe("an order", () => {
  const id = newId();
  const raised = told("order", 1, id, newId(), { raised_by: "cover", copies: 4, state: "asked_for" }, { made_by: newId() });
  beforeEach(async () => {
    server.changes = [raised];
    await pull(context, production);
  });
  const step = async (patch: JsonObject): Promise<string> => {
    await write(db, author, "order", id, patch);
    await send();
    return server.stored.at(-1)!;
  };
  /** The server writes on it too, and the phone reads it. */
  const followed = async (seq: number, document: JsonObject): Promise<string> => {
    const revision = newId();
    server.changes = [told("order", seq, id, revision, document, { made_by: newId() })];
    await pull(context, production);
    return revision;
  };

  test("goes through the steps that were said here, each as it was", async () => {
    const taken = await step({ state: "taken_on" });
    const casting = await step({ state: "casting" });
    await restore(raised);
    expect(await shown(id)).toMatchObject({ state: "casting" });
    await send();
    expect(stored()).toMatchObject([
      { id: taken, record: id, based_on: raised.revision, patch: { state: "taken_on" }, made_by: author.crew },
      { id: casting, record: id, based_on: taken, patch: { state: "casting" } },
    ]);
    expect(await outbox()).toEqual([]);
  });

  test("is not told again what it has, nor what somebody else said of it", async () => {
    const taken = await step({ state: "taken_on" });
    await followed(3, { ...raised.document, state: "casting" });
    await restore(told("order", 2, id, taken, { ...raised.document, state: "taken_on" }));
    expect(await outbox()).toEqual([]);
    expect(await shown(id)).toMatchObject({ state: "taken_on" });
  });

  test("a step that followed what the server itself had written, and lost, follows what is left", async () => {
    const taken = await step({ state: "taken_on" });
    await followed(3, { ...raised.document, copies: 6, state: "taken_on" });
    const casting = await step({ state: "casting" });
    await restore(raised);
    await send();
    expect(stored()).toMatchObject([{ id: taken, based_on: raised.revision }, { id: casting, based_on: taken }]);
  });

  test("an answer goes to no other question than the one it was given to", async () => {
    await followed(2, { ...raised.document, question: { copies: 6 } });
    await step({ answer: "agreed" });
    const another = told("order", 2, id, newId(), { ...(raised.document as JsonObject), question: { copies: 60 } }, { received_at: later });
    await restore(another);
    await send();
    expect(stored()).toEqual([]);
    expect(await shown(id)).not.toHaveProperty("answer");
    const [row] = await outbox();
    expect(row).toMatchObject({ state: "refused", patch: { answer: "agreed" } });
    // Whoever has looked may say it all the same; or lets it be.
    await tryAgain(db, row!.seq!);
    await send();
    expect(stored()).toMatchObject([{ based_on: another.revision, patch: { answer: "agreed" } }]);
  });

  test("that is not there any more is not made up here; what was said of it is shown", async () => {
    await step({ state: "taken_on" });
    await step({ state: "casting" });
    await restore(told("copy", 1, newId(), newId(), copy("CB-1")));
    await send();
    expect(stored()).toEqual([]);
    expect(await shown(id)).toBeUndefined();
    const rows = await outbox();
    expect(rows).toMatchObject([{ state: "refused", patch: { state: "taken_on" } }, { state: "refused", patch: { state: "casting" } }]);
    expect(rows[0]!.message).toMatch(/restored from a backup/);
    for (const row of rows) await setAside(db, row.seq!);
    expect((await outbox()).map((row) => row.state)).toEqual(["set_aside", "set_aside"]);
  });

  test("that was asked for by hand here is made again, with its steps", async () => {
    const mine = await write(db, author, "order", null, { raised_by: "hand", copies: 2 });
    await send();
    await write(db, author, "order", mine, { state: "taken_on" });
    await send();
    const [made, taken] = server.stored;
    await restore(raised);
    expect(await shown(mine)).toMatchObject({ copies: 2, state: "taken_on" });
    await send();
    expect(stored()).toMatchObject([{ id: made, record: mine, based_on: null }, { id: taken, record: mine, based_on: made }]);
  });
});

describe("what was taken back", () => {
  const first = told("copy", 1, newId(), newId(), copy("CB-1"), { made_by: newId() });
  beforeEach(async () => {
    server.changes = [first];
    await pull(context, production);
  });

  test("is taken back again, and the reason is told", async () => {
    await write(db, author, "copy", first.id as string, {}, { withdrawn: "Entered twice" });
    await send();
    const [entry] = server.stored;
    await restore(first);
    expect((await db.records.get([production, first.id as string]))!.withdrawn).toBe(true);
    await send();
    expect(stored()).toMatchObject([{ id: entry, based_on: first.revision, withdrawn: "Entered twice" }]);
  });

  test("with all that stood in it, where the server has none of it", async () => {
    const id = await write(db, author, "copy", null, copy("CB-2"));
    await send();
    await write(db, author, "copy", id, { note: "Twice on the shelf" });
    await send();
    await write(db, author, "copy", id, {}, { withdrawn: "Entered twice" });
    await send();
    const [, noted, taken] = server.stored;
    await restore(first);
    await send();
    expect(stored()).toMatchObject([
      { id: noted, record: id, based_on: null, patch: { serial: "CB-2", note: "Twice on the shelf" } },
      { id: taken, record: id, based_on: noted, withdrawn: "Entered twice" },
    ]);
  });

  test("is not taken back twice, and not where somebody has written on since: that is shown", async () => {
    await write(db, author, "copy", first.id as string, {}, { withdrawn: "Entered twice" });
    await send();
    await restore({ ...first, withdrawn: true, revision: newId() });
    expect(await outbox()).toEqual([]);
    await write(db, author, "copy", first.id as string, { note: "mine" });
    await db.outbox.clear();
    await restore({ ...first, seq: 2, revision: newId(), received_at: later, document: { ...(first.document as JsonObject), note: "still used" } });
    await send();
    expect(stored()).toEqual([]);
    expect(await outbox()).toMatchObject([{ state: "refused", withdrawn: "Entered twice" }]);
    expect((await db.records.get([production, first.id as string]))!.withdrawn).toBe(false);
  });
});

test("a restored server whose clock is an hour slow has nothing written over that somebody wrote since", async () => {
  const id = newId();
  server.changes = [told("copy", 9, id, newId(), { ...copy("CB-1"), note: "mine" }, { received_at: "2026-03-02T18:00:00+00:00", happened_at: "2026-03-02T18:00:00+00:00" })];
  await pull(context, production);
  await restore(told("copy", 4, id, newId(), { ...copy("CB-1"), note: "theirs, at half past six" }, { received_at: "2026-03-02T17:30:00+00:00", happened_at: "2026-03-02T18:30:00+00:00" }));
  await send();
  expect(stored()).toEqual([]);
  expect(await shown(id)).toMatchObject({ note: "theirs, at half past six" });
  expect(await outbox()).toMatchObject([{ state: "refused", patch: { note: "mine" } }]);
});

test("while it cannot be asked what it has lost, everything here stays as it was, and it is asked again", async () => {
  const id = newId();
  server.changes = [told("copy", 3, id, newId(), copy("CB-1"))];
  await pull(context, production);
  server.changes = [told("copy", 1, newId(), newId(), copy("CB-2"))];
  server.mark = "mark-2";
  server.always = (request, response) => request.url!.endsWith("/entries/missing") && void response.destroy() === undefined;
  expect((await pull(context, production)).stop).toBe("network");
  expect(await shown(id)).toMatchObject({ serial: "CB-1" });
  expect(await outbox()).toEqual([]);
  server.always = null;
  await pull(context, production);
  await send();
  expect(stored()).toMatchObject([{ record: id, patch: { serial: "CB-1" } }]);
});

describe("a photo that was sent", () => {
  const picture = (size: number, seed = 7): ArrayBuffer => Uint8Array.from({ length: size }, (_, index) => (index * seed) % 251).buffer;
  const hash = (bytes: ArrayBuffer): string => createHash("sha256").update(new Uint8Array(bytes)).digest("hex");
  const sheet = newId();
  const told = (seq: number, revision: string, sha256: string, state: string) =>
    ({ ...change(seq, sheet, revision, { photos: { a: { sha256 } } }), kind: "application", derived: { files: { [sha256]: state } } });
  async function photograph(bytes: ArrayBuffer): Promise<{ sha256: string; revision: string }> {
    const sha256 = hash(bytes);
    await write(db, author, "application", null, { photos: { a: { sha256 } } }, { id: sheet, photos: [{ sha256, media_type: "image/jpeg", bytes }] });
    await send();
    await sendFiles(context, production);
    expect(await db.photoIndex.count()).toBe(0);
    const revision = server.stored[0]!;
    server.changes = [told(2, revision, sha256, "stored")];
    await pull(context, production);
    return { sha256, revision };
  }
  const put = (): number => server.requests.filter(({ method }) => method === "PUT").length;

  test("goes again with its sheet when the server has lost both, and once", async () => {
    const bytes = picture(700_000);
    const { sha256, revision } = await photograph(bytes);
    server.files.clear();
    await restore(change(1, newId(), newId(), copy("CB-1")));
    await send();
    server.changes = [...server.changes, told(2, revision, sha256, "awaited")];
    await pull(context, production);
    expect(await sendFiles(context, production)).toEqual({ stop: "done", sent: 1 });
    expect(hash(new Uint8Array(server.files.get(sha256)!.bytes).buffer)).toBe(sha256);
    const sent = put();
    server.changes = [...server.changes.slice(0, 1), told(3, revision, sha256, "stored")];
    await pull(context, production);
    expect(await sendFiles(context, production)).toEqual({ stop: "done", sent: 0 });
    expect(put()).toBe(sent);
    expect(await sentKept(db)).toEqual({ count: 1, bytes: 700_000 });
  });

  test("is asked about after a restore, and not sent again where the server has it", async () => {
    const { sha256, revision } = await photograph(picture(1_000));
    const sent = put();
    const entries = [...server.entries];
    await restore(told(1, revision, sha256, "stored"));
    for (const [id, entry] of entries) server.entries.set(id, entry);
    expect((await db.photoIndex.toArray()).map((row) => row.sha256)).toEqual([sha256]);
    expect(await sendFiles(context, production)).toEqual({ stop: "done", sent: 1 });
    expect(put()).toBe(sent);
    expect(await db.photoIndex.count()).toBe(0);
  });

  test("goes again where the server believes to have it, and looks, and has not", async () => {
    const { sha256, revision } = await photograph(picture(1_000));
    const entries = [...server.entries];
    server.files.clear();
    await restore(told(1, revision, sha256, "stored"));
    for (const [id, entry] of entries) server.entries.set(id, entry);
    await sendFiles(context, production);
    expect(server.requests.some(({ method, path }) => method === "POST" && path.endsWith(`${sha256}/retry`))).toBe(true);
    expect(server.files.get(sha256)!.bytes.length).toBe(1_000);
  });

  test("and is gone here too is said, until another phone has sent it", async () => {
    const { sha256, revision } = await photograph(picture(1_000));
    await db.sentBytes.clear();
    await restore(told(1, revision, sha256, "awaited"));
    expect(await db.photoIndex.toArray()).toMatchObject([{ sha256, state: "unreadable" }]);
    server.changes = [told(2, revision, sha256, "stored")];
    await pull(context, production);
    expect(await db.photoIndex.count()).toBe(0);
  });

  test("that another phone took is not missed on this one", async () => {
    server.changes = [told(1, newId(), "a".repeat(64), "stored")];
    await pull(context, production);
    await restore(told(1, newId(), "a".repeat(64), "awaited"));
    expect(await db.photoIndex.count()).toBe(0);
  });

  test("counts as sent on a phone that has no room to keep it", async () => {
    db.sentBytes.hook("creating", () => {
      throw new DOMException("full", "QuotaExceededError");
    });
    const { sha256 } = await photograph(picture(1_000));
    expect(server.files.get(sha256)!.bytes.length).toBe(1_000);
    expect([await db.photoIndex.count(), await db.photoBytes.count(), await db.sentBytes.count()]).toEqual([0, 0, 0]);
  });

  describe("is kept", () => {
    const keep = (sha256: string, size: number, at: number) =>
      db.transaction("rw", db.photoIndex, db.sentPhotos, db.sentBytes, () =>
        keepSent(db, { production, sha256, application: sheet, size, media_type: "image/jpeg", state: "waiting", received: size, attempts: 0, next_at: 0, added_at: at }, new ArrayBuffer(size), at, 100));
    const kept = async () => (await db.sentBytes.toArray()).map((row) => row.sha256).sort();

    test("within a budget, the one sent longest ago going first", async () => {
      for (const [index, sha256] of ["a", "b", "c"].entries()) await keep(sha256, 40, index);
      expect(await kept()).toEqual(["b", "c"]);
      expect(await sentKept(db)).toEqual({ count: 2, bytes: 80 });
    });

    test("for some days", async () => {
      await keep("a", 10, 0);
      await keep("b", 10, SENT_DAYS * 86_400_000 + 1);
      expect(await kept()).toEqual(["b"]);
      // Also where nothing more is sent.
      await trimSent(db, 2 * (SENT_DAYS * 86_400_000 + 1));
      expect(await kept()).toEqual([]);
    });

    test("longer where it is to be sent again", async () => {
      await keep("a", 40, 0);
      await restore({ ...told(1, newId(), "a", "awaited") });
      for (const [index, sha256] of ["b", "c", "d"].entries()) await keep(sha256, 40, 1 + index);
      expect(await kept()).toEqual(["a", "c", "d"]);
    });
  });
});
