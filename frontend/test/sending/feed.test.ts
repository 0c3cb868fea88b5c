// What others wrote, on its way to the phone; and a server that has gone back.

import { beforeEach, describe, expect, test } from "vitest";
import { newId } from "../../src/domain/id";
import { LOST, write } from "../../src/sync/outbox";
import { pull } from "../../src/sync/pull";
import type { JsonObject } from "../../src/types";
import type { Entry } from "../server";
import { author, change, context, copy, db, outbox, pass, production, send, server, shown } from "./phone";

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
    pass(600_000);
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
    const asked = () => server.requests.filter(({ path }) => path === "/api/session").length;
    const before = asked();
    await pull(context, production);
    // What the screens offer goes by the role the session tells.
    expect(asked()).toBe(before + 1);
    expect(await shown(gone)).toBeUndefined();
    expect(await shown(stays)).toMatchObject({ note: "mine" });
    expect(await shown(mine)).toMatchObject({ serial: "CB-3" });
    expect(await outbox()).toHaveLength(2);
  });

  test("with another role go the pictures of photos that are not for it", async () => {
    const id = newId();
    const sheet = (photos: Record<string, { sha256: string }>): Record<string, unknown> => ({ ...change(1, id, newId(), { photos } as JsonObject), kind: "application" });
    server.changes = [sheet({ a: { sha256: "worn" }, b: { sha256: "bare skin" } })];
    await pull(context, production);
    const picture = (sha256: string) => ({ production, sha256, media_type: "image/webp", bytes: new ArrayBuffer(3), size: 3, used_at: 1 });
    await db.thumbs.bulkPut(["worn", "bare skin"].map(picture));
    await db.larges.bulkPut([picture("bare skin"), { ...picture("elsewhere"), production: newId() }]);
    server.key = "key-2";
    server.changes = [sheet({ a: { sha256: "worn" } })];
    await pull(context, production);
    expect((await db.thumbs.toArray()).map((row) => row.sha256)).toEqual(["worn"]);
    expect((await db.larges.toArray()).map((row) => row.sha256)).toEqual(["elsewhere"]);
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
    context.mayGiveBack = (written) => written.made_by === author.crew;
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
    expect(await shown(mine.id as string)).toMatchObject({ note: "later" });
    await send();
    expect(server.stored).toEqual([]);
    // It is said, with what stood here.
    expect(await outbox()).toMatchObject([{ record: mine.id, state: "refused", code: LOST, patch: { note: "mine" } }]);
  });

  test("what is not sent yet no longer says that it had seen places of the feed that are others now", async () => {
    const kept = change(7, newId(), newId(), copy("CB-1"));
    server.changes = [kept];
    await pull(context, production);
    await write(db, author, "copy", kept.id as string, { note: "mine" });
    server.changes = [change(5, kept.id as string, kept.revision as string, kept.document as JsonObject)];
    server.mark = "mark-2";
    await pull(context, production);
    await send();
    expect(server.entries.get(server.stored[0]!)).toMatchObject({ based_on: kept.revision, seen: 0 });
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
