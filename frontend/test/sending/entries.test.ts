// The outbox on an ordinary day, and when an answer is lost on the way.

import { describe, expect, test } from "vitest";
import { newId } from "../../src/domain/id";
import { write } from "../../src/sync/outbox";
import { pull } from "../../src/sync/pull";
import { author, change, context, copy, db, outbox, pass, production, send, serials, server, shown } from "./phone";

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
    pass(600_000);
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

describe("two tabs", () => {
  test("sending the same at once stores each once and loses none", async () => {
    for (let number = 1; number <= 10; number++) await write(db, author, "copy", null, copy(`CB-${number}`));
    await Promise.all([send(), send()]);
    await send();
    expect([...serials()].sort()).toEqual(Array.from({ length: 10 }, (_, index) => `CB-${index + 1}`).sort());
    expect(await outbox()).toEqual([]);
  });
});
