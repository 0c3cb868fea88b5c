// The outbox against a real HTTP server on loopback. After each bad day: every entry made is at the server exactly
// once, or still on the phone, or in "needs you". Cases constructed here.

import "fake-indexeddb/auto";
import { createHash } from "node:crypto";
import { afterEach, beforeEach, describe, expect, test } from "vitest";
import { type OutboxRow, Store } from "../src/db";
import { newId } from "../src/domain/id";
import { createApi } from "../src/sync/api";
import { sendFiles } from "../src/sync/files";
import { setAside, tryAgain, write } from "../src/sync/outbox";
import { pull } from "../src/sync/pull";
import { type SendContext, sendEntries } from "../src/sync/send";
import type { JsonObject } from "../src/types";
import { type Entry, TestServer } from "./server";

const production = newId();
const author = { production, crew: newId() };
let server: TestServer;
let db: Store;
let context: SendContext;
let clock: number;

beforeEach(async () => {
  server = new TestServer();
  db = new Store(`test-${newId()}`);
  clock = Date.now();
  const api = createApi(await server.start());
  api.csrf = server.csrf;
  context = {
    db, api, device: newId(), now: () => clock, random: () => 0.5,
    renew: async () => {
      const answer = await api.get<{ signed_in: boolean; csrf: string }>("/api/session", "session");
      api.csrf = answer.csrf;
      return answer.signed_in;
    },
  };
});

afterEach(async () => {
  await server.stop();
  await db.delete();
});

const copy = (serial: string): JsonObject => ({ appliance: newId(), serial, grade: "hero", state: "on_set" });
const outbox = (): Promise<OutboxRow[]> => db.outbox.orderBy("seq").toArray();
const send = () => sendEntries(context, production);
const shown = async (id: string): Promise<JsonObject | undefined> => (await db.records.get([production, id]))?.document;
const serials = (): unknown[] => server.stored.map((id) => server.entries.get(id)!.patch.serial);
const withoutSeq = ({ seq: _seq, ...row }: OutboxRow): OutboxRow => row;
const change = (seq: number, id: string, revision: string, document: JsonObject): Record<string, unknown> => ({
  seq, kind: "copy", id, revision, withdrawn: false, happened_at: "2026-03-02T06:00:00+00:00", received_at: "2026-03-02T06:00:01+00:00",
  made_by: author.crew, document, derived: { state: document.state },
});

describe("an ordinary day", () => {
  test("entries go in the order they were made, and leave the phone when they are stored", async () => {
    for (const serial of ["CB-1", "CB-2", "CB-3"]) await write(db, author, "copy", null, copy(serial));
    expect(await send()).toEqual({ stop: "done", sent: 3 });
    expect(serials()).toEqual(["CB-1", "CB-2", "CB-3"]);
    expect(await outbox()).toEqual([]);
  });

  test("the version and the token go along", async () => {
    await write(db, author, "copy", null, copy("CB-1"));
    await send();
    const { headers } = server.requests.at(-1)!;
    expect(headers["x-csrftoken"]).toBe("token-1");
    expect(headers["x-continuity-version"]).toBeTruthy();
  });

  test("each step of an order goes as an entry of its own, also when taken with no network", async () => {
    const id = await write(db, author, "order", null, { appliance: newId(), raised_by: "hand", copies: 3, needed_on: "2026-03-09", why: "For the poster" });
    await write(db, author, "order", id, { note: "Ring first" });
    await write(db, author, "order", id, { state: "taken_on" });
    await write(db, author, "order", id, { state: "casting" });
    const [first, second, third, ...more] = await outbox();
    expect([first!.patch.note, second!.patch, third!.patch, more]).toEqual(["Ring first", { state: "taken_on" }, { state: "casting" }, []]);
    expect([second!.based_on, third!.based_on]).toEqual([first!.id, second!.id]);
    expect(await send()).toEqual({ stop: "done", sent: 3 });
  });

  test("changes made before sending go as one entry; a change that changes nothing as none", async () => {
    const id = await write(db, author, "copy", null, copy("CB-1"));
    await write(db, author, "copy", id, { note: "thin edge" });
    await write(db, author, "copy", id, { note: "very thin edge" });
    await write(db, author, "copy", id, { note: "very thin edge" });
    expect(await outbox()).toHaveLength(1);
    await send();
    expect(server.stored).toHaveLength(1);
    expect(server.entries.get(server.stored[0]!)!.patch).toMatchObject({ serial: "CB-1", note: "very thin edge" });
  });

  test("an edit is based on the entry the phone last knew to be stored", async () => {
    const id = await write(db, author, "copy", null, copy("CB-1"));
    await send();
    await write(db, author, "copy", id, { state: "lost" });
    await send();
    const [first, second] = server.stored;
    expect(server.entries.get(second!)!.based_on).toBe(first);
    expect(server.entries.get(second!)!.patch).toEqual({ state: "lost" });
  });

  test("an edit says up to where its maker had read, and entries of the phone laid over it hide what came since", async () => {
    const id = newId();
    server.changes = [change(7, id, newId(), copy("CB-1"))];
    await pull(context, production);
    await write(db, author, "copy", id, { note: "mine" });
    server.next.push((request) => { request.socket.destroy(); return true; });
    await send();
    server.changes = [change(9, id, newId(), { ...copy("CB-1"), note: "theirs" })];
    await pull(context, production);
    await write(db, author, "copy", id, { note: "mine again" });
    expect(await outbox()).toMatchObject([{ frozen: true }, { frozen: false }]);
    clock += 600_000;
    await send();
    server.changes = [change(12, id, server.stored[1]!, { ...copy("CB-1"), note: "theirs" })];
    await pull(context, production);
    await write(db, author, "copy", id, { note: "after reading both" });
    await send();
    expect(server.stored.map((entry) => server.entries.get(entry))).toMatchObject([
      { seen: 7, patch: { note: "mine" } }, { seen: 7, patch: { note: "mine again" } }, { seen: 12, based_on: server.stored[1] },
    ]);
  });

  test("what another person writes on the same phone does not go into the entry of the first", async () => {
    const id = await write(db, author, "copy", null, copy("CB-1"));
    const second = newId();
    await write(db, { ...author, crew: second }, "copy", id, { note: "by the second" });
    await send();
    expect(server.stored.map((entry) => server.entries.get(entry))).toMatchObject([
      { made_by: author.crew, patch: { serial: "CB-1" } }, { made_by: second, patch: { note: "by the second" } },
    ]);
    expect(server.entries.get(server.stored[0]!)!.patch).not.toHaveProperty("note");
  });

  test("a record that names one made after it goes after that one", async () => {
    const sheet = await write(db, author, "application", null, { performer: newId(), copies: {} });
    const later = await write(db, author, "copy", null, copy("CB-9"));
    await write(db, author, "application", sheet, { copies: { [newId()]: { copy_used: later, outcome: "good" } } });
    await send();
    const order = server.stored.map((id) => server.entries.get(id)!);
    expect(order.map((entry) => entry.record)).toEqual([sheet, later, sheet]);
    expect(order[2]!.based_on).toBe(order[0]!.id);
  });

  test("a record taken back is an entry with the reason", async () => {
    const id = await write(db, author, "copy", null, copy("CB-1"));
    await write(db, author, "copy", id, {}, { withdrawn: "Entered twice" });
    await send();
    expect(server.entries.get(server.stored[1]!)).toMatchObject({ patch: {}, withdrawn: "Entered twice", based_on: server.stored[0] });
    expect((await db.records.get([production, id]))!.withdrawn).toBe(true);
  });
});

describe("a lost answer", () => {
  test("what was stored but never confirmed is sent again unchanged and kept once", async () => {
    const id = await write(db, author, "copy", null, copy("CB-1"));
    server.next.push((_request, response, body) => {
      server.keep(JSON.parse(body.toString()).entries);
      response.socket!.destroy();
      return true;
    });
    expect((await send()).stop).toBe("network");
    expect(await outbox()).toHaveLength(1);
    // Written in between: frozen entries do not change, so it is an entry of its own.
    await write(db, author, "copy", id, { note: "found later" });
    expect(await outbox()).toHaveLength(2);
    expect((await send()).stop).toBe("done");
    expect(server.stored).toHaveLength(2);
    expect(server.entries.get(server.stored[0]!)!.patch.note).toBeUndefined();
    expect(server.entries.get(server.stored[1]!)).toMatchObject({ based_on: server.stored[0], patch: { note: "found later" } });
    expect(await outbox()).toEqual([]);
    expect(await shown(id)).toMatchObject({ serial: "CB-1", note: "found later" });
  });

  test("an answer cut off in the middle is no answer", async () => {
    await write(db, author, "copy", null, copy("CB-1"));
    server.next.push((_request, response) => {
      response.writeHead(200, { "Content-Type": "application/json", "Content-Length": "500" });
      response.write('{"answer":"entries","results":[');
      setTimeout(() => response.socket!.destroy(), 20);
      return true;
    });
    expect((await send()).stop).not.toBe("done");
    expect(await outbox()).toHaveLength(1);
    await send();
    expect(serials()).toEqual(["CB-1"]);
  });
});

describe("something else answers", () => {
  const odd: [string, number, string, string][] = [
    ["a sign-in page with 200", 200, "text/html", "<html>Welcome to the hotel</html>"],
    ["200 and JSON of another's", 200, "application/json", '{"ok":true}'],
    ["the right word and no results", 200, "application/json", '{"answer":"entries"}'],
    ["a gateway's error page", 502, "text/html", "<h1>Bad gateway</h1>"],
  ];
  test.each(odd)("%s takes nothing out of the outbox", async (_name, status, type, text) => {
    await write(db, author, "copy", null, copy("CB-1"));
    server.next.push((_request, response) => {
      response.writeHead(status, { "Content-Type": type });
      response.end(text);
      return true;
    });
    expect((await send()).stop).toBe(status === 200 ? "odd" : "server");
    expect(await outbox()).toHaveLength(1);
    await send();
    expect(serials()).toEqual(["CB-1"]);
  });

  test("an answer for other ids leaves ours where they are", async () => {
    await write(db, author, "copy", null, copy("CB-1"));
    server.next.push((_request, response) => server.json(response, 200, { answer: "entries", results: [{ id: newId(), result: "stored" }] }));
    await send();
    expect(await outbox()).toHaveLength(1);
    clock += 3_600_000;
    await send();
    expect(serials()).toEqual(["CB-1"]);
  });

  test("a redirect to a sign-in page takes nothing out", async () => {
    await write(db, author, "copy", null, copy("CB-1"));
    server.next.push((_request, response) => {
      response.writeHead(302, { Location: "http://127.0.0.1:9/" });
      response.end();
      return true;
    });
    expect((await send()).stop).toBe("network");
    expect(await outbox()).toHaveLength(1);
  });
});

describe("refused entries", () => {
  test("one bad entry goes to needs you and blocks no other", async () => {
    await write(db, author, "copy", null, copy("CB-1"));
    const bad = await write(db, author, "copy", null, copy("CB-2"));
    await write(db, author, "copy", null, copy("CB-3"));
    server.refuse.set(bad, { code: "serial_taken", retryable: false });
    expect((await send()).stop).toBe("done");
    expect(serials()).toEqual(["CB-1", "CB-3"]);
    expect(await outbox()).toMatchObject([{ record: bad, state: "refused", code: "serial_taken", message: "Refused: serial_taken" }]);
    // It is not tried again by itself.
    const before = server.requests.length;
    clock += 86_400_000;
    await send();
    expect(server.requests.length).toBe(before);
  });

  test("correcting it makes a new entry with all of it, and keeps the refused one aside", async () => {
    const bad = await write(db, author, "copy", null, copy("CB-2"));
    server.refuse.set(bad, { code: "serial_taken", retryable: false });
    await send();
    server.refuse.clear();
    const [refused] = await outbox();
    await write(db, author, "copy", bad, { serial: "CB-22" });
    await send();
    expect(server.stored).toHaveLength(1);
    const stored = server.entries.get(server.stored[0]!)!;
    expect(stored.id).not.toBe(refused!.id);
    expect(stored).toMatchObject({ record: bad, based_on: null, patch: { serial: "CB-22", grade: "hero", state: "on_set" } });
    expect(await outbox()).toMatchObject([{ id: refused!.id, state: "set_aside" }]);
  });

  test("a correction of an edit is the whole difference from what the server has", async () => {
    const id = await write(db, author, "copy", null, copy("CB-1"));
    await send();
    server.refuse.set(id, { code: "not_a_document", retryable: false });
    await write(db, author, "copy", id, { note: "kept", use_by: "not a date" });
    await send();
    server.refuse.clear();
    await write(db, author, "copy", id, { use_by: "2026-05-01" });
    await send();
    expect(server.entries.get(server.stored[1]!)).toMatchObject({ based_on: server.stored[0], patch: { note: "kept", use_by: "2026-05-01" } });
  });

  test("a correction does not pass over what another person wrote under the refused edit", async () => {
    const id = newId();
    const read = newId();
    server.changes = [change(3, id, read, copy("CB-1"))];
    await pull(context, production);
    server.refuse.set(id, { code: "not_a_document", retryable: false });
    await write(db, author, "copy", id, { note: "mine", use_by: "not a date" });
    await send();
    server.refuse.clear();
    server.changes = [change(5, id, newId(), { ...copy("CB-1"), note: "theirs", state: "damaged" })];
    await pull(context, production);
    await write(db, author, "copy", id, { use_by: "2026-05-01" });
    await send();
    // The server is told that the note of the other was not seen: it stands, and ours is kept beside it.
    expect(server.entries.get(server.stored[0]!)).toMatchObject({ based_on: read, seen: 3 });
    expect(server.entries.get(server.stored[0]!)!.patch).toEqual({ note: "mine", use_by: "2026-05-01" });
  });

  test("what names a refused new record waits for it, then goes by itself", async () => {
    const bad = await write(db, author, "copy", null, copy("CB-2"));
    server.refuse.set(bad, { code: "serial_taken", retryable: false });
    await send();
    const sheet = await write(db, author, "application", null, { copies: { [newId()]: { copy_used: bad } } });
    await write(db, author, "copy", null, copy("CB-3"));
    await send();
    expect(serials()).toEqual(["CB-3"]);
    expect((await outbox()).find((row) => row.record === sheet)).toMatchObject({ state: "waiting" });
    server.refuse.clear();
    await write(db, author, "copy", bad, { serial: "CB-22" });
    await send();
    expect(server.stored.map((id) => server.entries.get(id)!.record)).toEqual([expect.any(String), bad, sheet]);
  });

  test("try again sends the same entry; set aside sends it no more and takes it out of what is shown", async () => {
    const id = await write(db, author, "copy", null, copy("CB-1"));
    await send();
    server.refuse.set(id, { code: "not_allowed", retryable: false });
    await write(db, author, "copy", id, { state: "lost" });
    await send();
    expect(await shown(id)).toMatchObject({ state: "lost" });
    const [row] = await outbox();
    await setAside(db, row!.seq!);
    expect(await shown(id)).toMatchObject({ state: "on_set" });
    await send();
    expect(server.stored).toHaveLength(1);
    server.refuse.clear();
    await tryAgain(db, row!.seq!);
    await send();
    expect(server.stored[1]).toBe(row!.id);
    expect(await shown(id)).toMatchObject({ state: "lost" });
  });

  test("setting an edit aside leaves the edits made after it, from what the server has", async () => {
    const id = await write(db, author, "copy", null, copy("CB-1"));
    await send();
    server.refuse.set(id, { code: "not_a_document", retryable: false });
    await write(db, author, "copy", id, { use_by: "not a date" });
    await send();
    const [refused] = await outbox();
    // As a second edit stands that was exported, and so frozen, in the meantime.
    await db.outbox.add({ ...withoutSeq(refused!), id: newId(), based_on: refused!.id, patch: { note: "kept" }, state: "waiting" });
    await setAside(db, refused!.seq!);
    expect(await shown(id)).toEqual(expect.objectContaining({ note: "kept" }));
    expect(await shown(id)).not.toHaveProperty("use_by");
    server.refuse.clear();
    await send();
    expect(server.entries.get(server.stored.at(-1)!)).toMatchObject({ based_on: server.stored[0], patch: { note: "kept" } });
    expect((await outbox()).every((row) => row.state === "set_aside")).toBe(true);
  });

  test("a refusal that may pass stays in the outbox and backs off by itself", async () => {
    const busy = await write(db, author, "copy", null, copy("CB-1"));
    await write(db, author, "copy", null, copy("CB-2"));
    server.refuse.set(busy, { code: "server_busy", retryable: true });
    await send();
    expect(serials()).toEqual(["CB-2"]);
    expect(await outbox()).toMatchObject([{ record: busy, state: "waiting", attempts: 1 }]);
    server.refuse.clear();
    await send();
    expect(serials()).toEqual(["CB-2"]);
    clock += 2_000;
    await send();
    expect(serials()).toEqual(["CB-2", "CB-1"]);
  });
});

describe("a lost login", () => {
  test("401 stops the queue and keeps everything; after signing in it goes", async () => {
    server.signedIn = false;
    await write(db, author, "copy", null, copy("CB-1"));
    await write(db, author, "copy", null, copy("CB-2"));
    expect(await send()).toEqual({ stop: "signed_out", sent: 0 });
    expect(await outbox()).toHaveLength(2);
    server.signedIn = true;
    await send();
    expect(serials()).toEqual(["CB-1", "CB-2"]);
  });

  test("a token that was renewed is fetched and the entry goes at once", async () => {
    await write(db, author, "copy", null, copy("CB-1"));
    server.csrf = "token-2";
    expect(await send()).toEqual({ stop: "done", sent: 1 });
    expect(serials()).toEqual(["CB-1"]);
  });
});

describe("a server with trouble", () => {
  test("500 and then an answer: everything once", async () => {
    await write(db, author, "copy", null, copy("CB-1"));
    server.next.push((_request, response) => server.json(response, 500, { code: "server_error", message: "Trouble.", retryable: true }));
    await send();
    clock += 600_000;
    await send();
    expect(serials()).toEqual(["CB-1"]);
    expect(await outbox()).toEqual([]);
  });

  test("an entry the server falls over is found, and the others get past it", async () => {
    for (let number = 1; number <= 20; number++) await write(db, author, "copy", null, copy(`CB-${number}`));
    server.always = (_request, response, body) => body.includes('"CB-7"') && server.json(response, 500, { code: "server_error", message: "Trouble.", retryable: true });
    await send();
    expect(serials()).toHaveLength(19);
    expect(serials()).not.toContain("CB-7");
    expect((await outbox()).map((row) => row.patch.serial)).toEqual(["CB-7"]);
  });

  test("a server that is down for all is not asked once for every entry", async () => {
    for (let number = 1; number <= 40; number++) await write(db, author, "copy", null, copy(`CB-${number}`));
    server.always = (_request, response) => server.json(response, 500, { code: "server_error", message: "Trouble.", retryable: true });
    expect((await send()).stop).toBe("server");
    expect(server.requests.length).toBeLessThan(12);
    expect(await outbox()).toHaveLength(40);
  });

  test("no server at all", async () => {
    await write(db, author, "copy", null, copy("CB-1"));
    await server.stop();
    expect((await send()).stop).toBe("network");
    expect(await outbox()).toHaveLength(1);
    server = new TestServer();
    await server.start();
  });

  test("a body over the limit is sent in several", async () => {
    for (let number = 1; number <= 3; number++) await write(db, author, "copy", null, { ...copy(`CB-${number}`), note: "x".repeat(2_000_000) });
    await send();
    expect(serials()).toEqual(["CB-1", "CB-2", "CB-3"]);
    expect(server.requests.every((request) => request.body.length < 5_000_000)).toBe(true);
  });
});

describe("two tabs", () => {
  test("sending the same at once stores each once and loses none", async () => {
    for (let number = 1; number <= 10; number++) await write(db, author, "copy", null, copy(`CB-${number}`));
    await Promise.all([send(), send()]);
    await send();
    expect([...serials()].sort()).toEqual(Array.from({ length: 10 }, (_, index) => `CB-${index + 1}`).sort());
    expect(await outbox()).toEqual([]);
  });
});

describe("photos", () => {
  const bytes = (size: number, seed = 7): ArrayBuffer => Uint8Array.from({ length: size }, (_, index) => (index * seed) % 251).buffer;
  const hash = (buffer: ArrayBuffer): string => createHash("sha256").update(new Uint8Array(buffer)).digest("hex");
  const photograph = async (picture: ArrayBuffer): Promise<string> => {
    const sha256 = hash(picture);
    const photo = { sha256, size: picture.byteLength, media_type: "image/jpeg", angle: "front", moment: "applied", taken_at: "2026-03-02T06:10:00+00:00" };
    await write(db, author, "application", null, { photos: { [newId()]: photo } }, { photos: [{ sha256, media_type: "image/jpeg", bytes: picture }] });
    return sha256;
  };

  test("the entry goes first, then the file in pieces; only then the phone lets go of it", async () => {
    const sha256 = await photograph(bytes(1_300_000));
    expect(await sendFiles(context, production)).toEqual({ stop: "done", sent: 0 });
    expect(server.requests).toEqual([]);
    await send();
    expect(await sendFiles(context, production)).toEqual({ stop: "done", sent: 1 });
    expect(hash(new Uint8Array(server.files.get(sha256)!.bytes).buffer)).toBe(sha256);
    expect(server.requests.filter((request) => request.method === "PUT").map((request) => request.body.length)).toEqual([524_288, 524_288, 251_424]);
    expect(await db.photoBytes.count()).toBe(0);
    expect(await db.photoIndex.count()).toBe(0);
  });

  test("broken off half-way it goes on from there", async () => {
    const sha256 = await photograph(bytes(1_300_000));
    await send();
    let pieces = 0;
    server.always = (request, response) => {
      if (request.method !== "PUT" || (pieces += 1) !== 2) return false;
      response.socket!.destroy();
      return true;
    };
    expect((await sendFiles(context, production)).stop).toBe("network");
    expect(await db.photoBytes.count()).toBe(1);
    expect(server.files.get(sha256)!.bytes.length).toBe(524_288);
    await sendFiles(context, production);
    expect(server.requests.filter((request) => request.method === "PUT").at(-2)!.headers["content-range"]).toBe("bytes 524288-1048575/1300000");
    expect(hash(new Uint8Array(server.files.get(sha256)!.bytes).buffer)).toBe(sha256);
    expect(await db.photoBytes.count()).toBe(0);
  });

  test("a piece that was stored but not confirmed is not sent twice into the file", async () => {
    const sha256 = await photograph(bytes(700_000));
    await send();
    server.always = (request, response, body) => {
      if (request.method !== "PUT") return false;
      server.always = null;
      server.files.set(sha256, { bytes: body, size: 700_000 });
      response.socket!.destroy();
      return true;
    };
    await sendFiles(context, production);
    await sendFiles(context, production);
    expect(server.files.get(sha256)!.bytes.length).toBe(700_000);
    expect(await db.photoBytes.count()).toBe(0);
  });

  test("one photo with trouble blocks no other", async () => {
    const bad = await photograph(bytes(1_000, 3));
    const good = await photograph(bytes(1_000, 5));
    await send();
    server.always = (request, response) => request.url!.endsWith(bad) && server.json(response, 503, { code: "server_busy", message: "Busy.", retryable: true });
    await sendFiles(context, production);
    expect((await db.photoIndex.toArray()).map((row) => row.sha256)).toEqual([bad]);
    expect(server.files.get(good)!.bytes.length).toBe(1_000);
  });

  test("a photo taken off the sheet before it was sent is sent no more", async () => {
    const sha256 = await photograph(bytes(1_000));
    const [row] = await outbox();
    await write(db, author, "application", row!.record, { photos: { [Object.keys(row!.patch.photos as object)[0]!]: null } });
    await send();
    await sendFiles(context, production);
    expect(server.files.has(sha256)).toBe(false);
    expect(await db.photoIndex.count()).toBe(0);
    expect(await db.photoBytes.count()).toBe(0);
  });

  test("a photo the browser has lost is said, and blocks no other", async () => {
    const lost = await photograph(bytes(1_000, 3));
    const good = await photograph(bytes(1_000, 5));
    await send();
    await db.photoBytes.delete([production, lost]);
    expect((await sendFiles(context, production)).stop).toBe("done");
    expect(await db.photoIndex.get([production, lost])).toMatchObject({ state: "unreadable" });
    expect(server.files.get(good)!.bytes.length).toBe(1_000);
  });

  test("a photo of an entry the server holds back is still sent, and kept until it is stored", async () => {
    const sha256 = await photograph(bytes(1_000));
    server.next.push((_request, response, body) => {
      const [entry] = JSON.parse(body.toString()).entries;
      return server.json(response, 200, { answer: "entries", results: [{ id: entry.id, result: "held" }] });
    });
    const [row] = await outbox();
    await db.outbox.update(row!.seq!, { based_on: newId() });
    await send();
    await sendFiles(context, production);
    expect(await db.photoBytes.count()).toBe(1);
    server.entries.set(row!.id, { ...row!, patch: row!.patch });
    clock += 600_000;
    await sendFiles(context, production);
    expect(server.files.get(sha256)!.bytes.length).toBe(1_000);
    expect(await db.photoBytes.count()).toBe(0);
  });

  test("a photo whose sheet is set aside stays, is not tried without end, and goes when the sheet does", async () => {
    const sha256 = await photograph(bytes(1_000));
    const [row] = await outbox();
    server.refuse.set(row!.record, { code: "not_allowed", retryable: false });
    await send();
    await setAside(db, row!.seq!);
    await sendFiles(context, production);
    expect(server.requests.filter((request) => request.path.includes("/files/"))).toEqual([]);
    expect(await db.photoIndex.get([production, sha256])).toMatchObject({ state: "set_aside" });
    expect(await db.photoBytes.count()).toBe(1);
    server.refuse.clear();
    await tryAgain(db, row!.seq!);
    await send();
    await sendFiles(context, production);
    expect(server.files.get(sha256)!.bytes.length).toBe(1_000);
    expect(await db.photoBytes.count()).toBe(0);
  });

  test("a file the server has, and can make nothing of, is let go all the same", async () => {
    const bad = await photograph(bytes(1_000, 3));
    await send();
    const reason = "The picture cannot be decoded.";
    server.always = (request, response) =>
      request.url!.endsWith(bad) && server.json(response, 200, { answer: "file", state: "stored", received: 1_000, renditions: "failed", reason });
    expect(await sendFiles(context, production)).toEqual({ stop: "done", sent: 1 });
    expect(await db.photoIndex.count()).toBe(0);
    expect(await db.photoBytes.count()).toBe(0);
  });

  test("a file the server refuses for good needs you and stays on the phone", async () => {
    const bad = await photograph(bytes(1_000, 3));
    await send();
    server.always = (request, response) => request.method === "PUT" && server.json(response, 422, { code: "not_a_request", message: "Another length.", retryable: false });
    await sendFiles(context, production);
    expect(await db.photoIndex.get([production, bad])).toMatchObject({ state: "unreadable", message: "Another length." });
    expect(await db.photoBytes.count()).toBe(1);
  });

  test("a sign-in page that says 200 to a file deletes nothing", async () => {
    await photograph(bytes(1_000));
    await send();
    server.always = (_request, response) => {
      response.writeHead(200, { "Content-Type": "text/html" });
      response.end("<html>stored</html>");
      return true;
    };
    expect((await sendFiles(context, production)).stop).toBe("odd");
    expect(await db.photoBytes.count()).toBe(1);
  });
});

describe("what others wrote", () => {
  test("comes page by page, and goes on from where it stopped", async () => {
    const ids = [newId(), newId(), newId()];
    server.changes = ids.map((id, index) => change(index + 1, id, newId(), copy(`CB-${index + 1}`)));
    expect(await pull(context, production)).toEqual({ stop: "done", received: 3 });
    expect(await shown(ids[2]!)).toMatchObject({ serial: "CB-3" });
    server.changes.push(change(4, ids[0]!, newId(), { ...copy("CB-1"), state: "lost" }));
    expect(await pull(context, production)).toEqual({ stop: "done", received: 1 });
    expect(await shown(ids[0]!)).toMatchObject({ state: "lost" });
  });

  test("what is not sent yet stays on top of what comes", async () => {
    const id = newId();
    const revision = newId();
    server.changes = [change(1, id, revision, copy("CB-1"))];
    await pull(context, production);
    await write(db, author, "copy", id, { note: "mine" });
    const other = newId();
    server.changes.push(change(2, id, other, { ...copy("CB-1"), state: "damaged" }));
    await pull(context, production);
    expect(await shown(id)).toMatchObject({ note: "mine", state: "damaged" });
    // The edit still names the revision it was made on.
    expect((await outbox())[0]!.based_on).toBe(revision);
    await send();
    expect(await shown(id)).toMatchObject({ note: "mine", state: "damaged" });
  });

  test("an edit that met another, and whose answer was lost, is not shown for ever in the place of what stands", async () => {
    const id = newId();
    server.changes = [change(1, id, newId(), copy("CB-1"))];
    await pull(context, production);
    await write(db, author, "copy", id, { note: "mine" });
    server.next.push((_request, response, body) => {
      server.keep((JSON.parse(body.toString()) as { entries: Entry[] }).entries);
      response.destroy();
      return true;
    });
    expect((await send()).stop).toBe("network");
    // Another tab reads: the note of another person stood already, and stands.
    server.changes.push(change(3, id, server.stored[0]!, { ...copy("CB-1"), note: "theirs" }));
    await pull(context, production);
    expect(await shown(id)).toMatchObject({ note: "mine" });
    clock += 600_000;
    await send();
    expect(await outbox()).toHaveLength(0);
    await pull(context, production);
    expect(await shown(id)).toMatchObject({ note: "theirs" });
  });

  test("another key drops what was fetched and never what was written", async () => {
    const gone = newId();
    const stays = newId();
    server.changes = [change(1, gone, newId(), copy("CB-1")), change(2, stays, newId(), copy("CB-2"))];
    await pull(context, production);
    const mine = await write(db, author, "copy", null, copy("CB-3"));
    await write(db, author, "copy", stays, { note: "mine" });
    server.key = "key-2";
    server.changes = [change(5, stays, newId(), copy("CB-2"))];
    await pull(context, production);
    expect(await shown(gone)).toBeUndefined();
    expect(await shown(stays)).toMatchObject({ note: "mine" });
    expect(await shown(mine)).toMatchObject({ serial: "CB-3" });
    expect(await outbox()).toHaveLength(2);
  });

  test("a sign-in page brings nothing and moves nothing", async () => {
    server.next.push((_request, response) => {
      response.writeHead(200, { "Content-Type": "text/html" });
      response.end("<html></html>");
      return true;
    });
    expect((await pull(context, production)).stop).toBe("odd");
    server.changes = [change(1, newId(), newId(), copy("CB-1"))];
    expect((await pull(context, production)).received).toBe(1);
  });
});

describe("the server is restored from a backup", () => {
  beforeEach(() => {
    context.wroteLast = (row) => row.made_by === author.crew;
  });
  const later = "2026-03-02T18:00:01+00:00";
  const written = (seq: number, id: string, document: JsonObject): Record<string, unknown> => ({ ...change(seq, id, newId(), document), received_at: later });

  test("what others wrote since comes, though its numbers had been read before", async () => {
    server.changes = [change(1, newId(), newId(), copy("CB-1")), change(2, newId(), newId(), copy("CB-2"))];
    await pull(context, production);
    const other = newId();
    server.changes = [server.changes[0]!, change(2, other, newId(), copy("CB-3"))];
    server.mark = "mark-2";
    await pull(context, production);
    expect(await shown(other)).toMatchObject({ serial: "CB-3" });
    expect((await pull(context, production)).received).toBe(0);
  });

  test("what this person wrote last goes there again, before what is not sent yet, and once", async () => {
    const kept = change(1, newId(), newId(), copy("CB-1"));
    const sheet = written(3, newId(), { look: "a look", note: "Applied" });
    const edited = written(4, kept.id as string, { ...copy("CB-1"), ...(kept.document as JsonObject), note: "Torn at the edge" });
    server.changes = [sheet, edited];
    await pull(context, production);
    await write(db, author, "copy", sheet.id as string, { note: "Removed" });
    server.changes = [kept];
    server.mark = "mark-2";
    await pull(context, production);
    expect(await shown(sheet.id as string)).toEqual({ look: "a look", note: "Removed" });
    expect(await shown(edited.id as string)).toMatchObject({ note: "Torn at the edge" });
    await pull(context, production);
    await send();
    expect(server.stored.map((id) => server.entries.get(id))).toMatchObject([
      { id: sheet.revision, record: sheet.id, based_on: null, patch: { look: "a look", note: "Applied" } },
      { id: edited.revision, record: kept.id, based_on: kept.revision, patch: { note: "Torn at the edge" } },
      { record: sheet.id, based_on: sheet.revision, patch: { note: "Removed" } },
    ]);
    expect(await outbox()).toHaveLength(0);
  });

  test("nothing of others, and nothing over what somebody wrote later on the restored server", async () => {
    const theirs = { ...written(3, newId(), copy("CB-2")), made_by: newId() };
    const mine = written(4, newId(), { ...copy("CB-1"), note: "mine" });
    server.changes = [theirs, mine];
    await pull(context, production);
    server.changes = [{ ...written(2, mine.id as string, { ...copy("CB-1"), note: "later" }), received_at: "2026-03-03T06:00:00+00:00" }];
    server.mark = "mark-2";
    await pull(context, production);
    expect(await outbox()).toHaveLength(0);
    expect(await shown(mine.id as string)).toMatchObject({ note: "later" });
  });

  test("a look and the sheet it is held to, which name each other, both go", async () => {
    const [look, sheet] = [newId(), newId()];
    server.changes = [written(1, look, { name: "Cut brow", established: sheet }), written(2, sheet, { look })];
    await pull(context, production);
    server.changes = [change(1, newId(), newId(), copy("CB-1"))];
    server.mark = "mark-2";
    await pull(context, production);
    await send();
    expect(server.stored.map((id) => server.entries.get(id))).toMatchObject([
      { record: look, patch: { name: "Cut brow" } }, { record: sheet, patch: { look } }, { record: look, patch: { established: sheet } },
    ]);
  });
});
