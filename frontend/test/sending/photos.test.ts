// Photos on their way: in pieces, each on its own, and never let go of before the server has them.

import "fake-indexeddb/auto";
import { createHash } from "node:crypto";
import { describe, expect, test } from "vitest";
import { newId } from "../../src/domain/id";
import { sendFiles } from "../../src/sync/files";
import { setAside, tryAgain } from "../../src/sync/needsYou";
import { write } from "../../src/sync/outbox";
import { author, context, db, outbox, pass, production, send, server } from "./phone";

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

  test("a photo of an entry the server holds back goes after that, and is kept until it is stored", async () => {
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
    pass(600_000);
    await send();
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
