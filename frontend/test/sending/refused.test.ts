// What becomes of an entry that the server refuses: "needs you", its correction, setting it aside.

import { describe, expect, test } from "vitest";
import type { OutboxRow } from "../../src/db";
import { newId } from "../../src/domain/id";
import { setAside, tryAgain } from "../../src/sync/needsYou";
import { write } from "../../src/sync/outbox";
import { pull } from "../../src/sync/pull";
import { author, change, context, copy, db, outbox, pass, production, send, serials, server, shown } from "./phone";

const withoutSeq = ({ seq: _seq, ...row }: OutboxRow): OutboxRow => row;

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
    pass(86_400_000);
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

  test("what the server keeps until another entry comes stays on the phone, and is asked about again", async () => {
    const id = await write(db, author, "copy", null, copy("CB-1"));
    await send();
    await write(db, author, "copy", id, { note: "mine" });
    const [row] = await outbox();
    server.next.push((_request, response) => server.json(response, 200, { answer: "entries", results: [{ id: row!.id, result: "held", revision: row!.id }] }));
    expect((await send()).sent).toBe(0);
    expect(await outbox()).toMatchObject([{ id: row!.id, state: "waiting" }]);
    expect(await shown(id)).toMatchObject({ note: "mine" });
    pass(600_000);
    await send();
    expect(await outbox()).toHaveLength(0);
    expect(server.stored).toHaveLength(2);
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
    pass(2_000);
    await send();
    expect(serials()).toEqual(["CB-2", "CB-1"]);
  });
});
