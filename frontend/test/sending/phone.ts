// A phone and a real HTTP server on loopback, anew for each test. After each bad day: every entry made is at the server
// exactly once, or still on the phone, or in "needs you". Cases constructed here.

import "fake-indexeddb/auto";
import { afterEach, beforeEach } from "vitest";
import { type OutboxRow, Store } from "../../src/db";
import { newId } from "../../src/domain/id";
import { createApi } from "../../src/sync/api";
import { type SendContext, sendEntries } from "../../src/sync/send";
import type { JsonObject } from "../../src/types";
import { TestServer } from "../server";

export const production = newId();
export const author = { production, crew: newId() };
export let server: TestServer;
export let db: Store;
export let context: SendContext;
let clock: number;
/** Lets so many milliseconds go by on the phone. */
export const pass = (milliseconds: number): void => {
  clock += milliseconds;
};

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

export const copy = (serial: string): JsonObject => ({ appliance: newId(), serial, grade: "hero", state: "on_set" });
export const outbox = (): Promise<OutboxRow[]> => db.outbox.orderBy("seq").toArray();
export const send = () => sendEntries(context, production);
export const shown = async (id: string): Promise<JsonObject | undefined> => (await db.records.get([production, id]))?.document;
export const serials = (): unknown[] => server.stored.map((id) => server.entries.get(id)!.patch.serial);
export const change = (seq: number, id: string, revision: string, document: JsonObject): Record<string, unknown> => ({
  seq, kind: "copy", id, revision, withdrawn: false, happened_at: "2026-03-02T06:00:00+00:00", received_at: "2026-03-02T06:00:01+00:00",
  made_by: author.crew, document, derived: { state: document.state },
});
