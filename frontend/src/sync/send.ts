// Sends the outbox. `sendEntries()` goes on until nothing more can go now, and says why it stopped.

import type { OutboxRow, RecordRow, Store } from "../db";
import type { Id } from "../types";
import { type Api, NoAnswer, ServerError } from "./api";
import { backoff } from "./backoff";
import { type EntryResult, freezeNext, settle, wireEntry } from "./settle";

export type Stop = "done" | "signed_out" | "network" | "odd" | "server" | "not_allowed";

export interface SendContext {
  db: Store;
  api: Api;
  device: Id;
  /** Asks for the session again, since the token may have been renewed; false when nobody is signed in. */
  renew: () => Promise<boolean>;
  /** Whether whoever is signed in wrote this, and may write it now. */
  mayGiveBack?: (written: Pick<RecordRow, "production" | "made_by" | "kind">) => boolean;
  /** Whether whoever this is done for is still signed in. Asked inside transactions, over `meta` too. */
  isHere?: () => Promise<boolean>;
  now?: () => number;
  random?: () => number;
}

const MAX_ENTRIES = 500;
const MAX_BYTES = 4_000_000;
const LOST_LOGIN: ReadonlySet<string> = new Set(["signed_out", "csrf_failed"]);

/** Calls once more after the session was asked for again, where the login or the token was lost. */
export async function withRenewal<T>(context: SendContext, call: () => Promise<T>): Promise<T> {
  try {
    return await call();
  } catch (error) {
    if (!(error instanceof ServerError) || !LOST_LOGIN.has(error.code) || !(await context.renew())) throw error;
    return call();
  }
}

/** Whoever this was done for has signed out meanwhile: what comes is for nobody here. */
export class Gone extends Error {}

/** Throws `Gone`, and so undoes the transaction it is called in. */
export async function stayHere(context: SendContext): Promise<void> {
  if (context.isHere && !(await context.isHere())) throw new Gone();
}

export function stopOf(error: unknown): Stop {
  if (error instanceof NoAnswer) return error.why;
  if (error instanceof Gone) return "signed_out";
  if (error instanceof ServerError) {
    if (LOST_LOGIN.has(error.code) || error.status === 401) return "signed_out";
    return error.status === 403 || error.status === 404 ? "not_allowed" : "server";
  }
  throw error;
}

interface EntriesAnswer {
  answer: "entries";
  results: EntryResult[];
}

export async function sendEntries(context: SendContext, production: Id): Promise<{ stop: Stop; sent: number }> {
  const clock = context.now ?? Date.now;
  const retryAt = (attempts: number): number => clock() + backoff(attempts, context.random);
  let sent = 0;
  let entries = MAX_ENTRIES;
  let aloneAndFailed = 0;

  for (;;) {
    const rows = await freezeNext(context.db, production, clock(), { entries, bytes: MAX_BYTES });
    if (!rows.length) return { stop: "done", sent };
    try {
      const answer = await withRenewal(context, () => post(context, production, rows));
      sent += await settle(context.db, rows, answer.results, retryAt);
      aloneAndFailed = 0;
      entries = MAX_ENTRIES;
    } catch (error) {
      if (!isAboutTheBody(error)) return { stop: stopOf(error), sent };
      // Something in this batch cannot be taken: halve it until the one is found, so that it blocks no other.
      if (rows.length > 1) {
        entries = Math.ceil(rows.length / 2);
        continue;
      }
      aloneAndFailed += 1;
      await settle(context.db, rows, aloneAnswer(rows[0]!, error), retryAt);
      // Three in a row with nothing taken in between is the server's trouble, not the entries'.
      if (aloneAndFailed >= 3) return { stop: "server", sent };
    }
  }
}

async function post(context: SendContext, production: Id, rows: OutboxRow[]): Promise<EntriesAnswer> {
  const answer = await context.api.send<EntriesAnswer>(
    "POST", `/api/productions/${production}/entries`, { device: context.device, entries: rows.map(wireEntry) }, "entries",
  );
  if (!Array.isArray(answer.results)) throw new NoAnswer("odd", 200);
  return answer;
}

function isAboutTheBody(error: unknown): boolean {
  if (error instanceof NoAnswer) return error.status === 500 || error.status === 413;
  return error instanceof ServerError && [400, 413, 422, 500].includes(error.status);
}

function aloneAnswer(row: OutboxRow, error: unknown): EntryResult[] {
  if (!(error instanceof ServerError) || error.retryable || error.status >= 500) return [];
  return [{ id: row.id, result: "refused", code: error.code, message: error.message, retryable: false, field: error.field ?? null }];
}
