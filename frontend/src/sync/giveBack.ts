// A server that was restored from a backup gets again what it has lost of what this phone's person wrote: of each record
// what they wrote last, and of orders and of what was taken back the entries themselves, as this phone sent them. Which
// entries are lost the server says; each goes back under its own id, so that nothing is there twice. What cannot be given
// back by itself is shown as needing somebody.

import type { OutboxRow, RecordRow, Store } from "../db";
import { newId } from "../domain/id";
import { diffPatch } from "../domain/mergePatch";
import type { Id, JsonObject, Moment } from "../types";
import { LOST } from "./outbox";
import { type SendContext, withRenewal } from "./send";

/** What of a record a restored server has. */
export interface Restored {
  revision: Id;
  received_at: Moment;
  happened_at: Moment;
  seq: number;
  withdrawn: boolean;
  document: JsonObject;
}

const NO_ORDER = "The server was restored from a backup that does not have this order. If copies are still needed, they are asked for anew: say it of that order.";
const WRITTEN_SINCE = "The server was restored from a backup, and somebody has written this anew since. This is what stood here before: compare, and try again what of it is to stand.";
const FOLLOWED_NOTHING = "The server was restored from a backup, and what this followed is not there any more: see how it stands now, and try again if this still holds.";
const MOST = 1000;

const recordsIn = (db: Store, production: Id) => db.records.where("[production+kind]").between([production, ""], [production, "\uffff"]).toArray();
/** In the order in which they were sent. */
const sentIn = async (db: Store, production: Id): Promise<OutboxRow[]> => (await db.sentEntries.where({ production }).toArray()).sort((one, other) => one.seq! - other.seq!);

/** Which of the entries this phone knows of the server has not. Throws what the sending throws. */
export async function missingEntries(context: SendContext, production: Id): Promise<ReadonlySet<Id>> {
  const asked = new Set((await recordsIn(context.db, production)).flatMap(({ revision }) => revision ?? []));
  for (const { id, based_on } of await sentIn(context.db, production)) for (const one of [id, based_on]) if (one) asked.add(one);
  const ids = [...asked];
  const missing = new Set<Id>();
  for (let at = 0; at < ids.length; at += MOST) {
    const part = { ids: ids.slice(at, at + MOST) };
    const answer = await withRenewal(context, () => context.api.send<{ answer: string; ids: Id[] }>("POST", `/api/productions/${production}/entries/missing`, part, "missing"));
    for (const id of answer.ids) missing.add(id);
  }
  return missing;
}

type Given = Pick<OutboxRow, "id" | "kind" | "record" | "based_on" | "seen" | "happened_at" | "made_by" | "patch" | "withdrawn">;

/**
 * Puts what is lost before whatever is not sent yet. `now` is what the server has. Call inside a transaction over records,
 * outbox and sentEntries.
 */
export async function giveBack(
  db: Store, production: Id, now: ReadonlyMap<Id, Restored>, missing: ReadonlySet<Id>, mayGiveBack: NonNullable<SendContext["mayGiveBack"]>,
): Promise<void> {
  const rows = await db.outbox.orderBy("seq").toArray();
  const known = new Set(rows.map((row) => row.id));
  // A place in the feed as it was says nothing of the feed as it is.
  for (const row of rows) if (row.production === production && !row.frozen) await db.outbox.update(row.seq!, { seen: 0 });
  const records = (await recordsIn(db, production)).sort((one, other) => one.seq - other.seq);
  const isLost = (id: Id | null): id is Id => id !== null && missing.has(id) && !known.has(id);
  const given: (Given & { message?: string })[] = [];

  /** What stood in a record last, as one entry with this id. */
  const giveHead = ({ id: record, kind, server, made_by, happened_at }: RecordRow, id: Id): void => {
    const left = now.get(record);
    const entry = { id, kind, record, happened_at, made_by, seen: left?.seq ?? 0 };
    if (left) {
      given.push({ ...entry, based_on: left.revision, patch: diffPatch(left.document, server!) });
    } else if (server!.established) {
      // The sheet that a look is held to names the look: the look goes first, and says afterwards what it is held to.
      const { established, established_reason: reason, ...first } = server!;
      given.push({ ...entry, based_on: null, patch: first });
      given.push({ ...entry, id: newId(), based_on: id, patch: { established, ...(reason === undefined ? {} : { established_reason: reason }) } });
    } else {
      given.push({ ...entry, based_on: null, patch: server! });
    }
  };

  const unchanged = Math.max(0, ...records.filter((row) => now.get(row.id)?.seq === row.seq && now.get(row.id)!.revision === row.revision).map((row) => row.seq));
  /** Whether somebody wrote what is left after the server was restored. Its clock alone is not believed. */
  const isLater = (left: Restored, record: RecordRow): boolean =>
    Date.parse(left.received_at) > Date.parse(record.received_at ?? left.received_at) ||
    (left.seq > unchanged && Date.parse(left.happened_at) > Date.parse(record.happened_at));

  const sent = (await sentIn(db, production)).filter(mayGiveBack);
  for (const record of records) {
    const { id, kind, server, revision, server_withdrawn } = record;
    if (kind === "order" || !server) continue;
    const left = now.get(id);
    const withdrawal = server_withdrawn ? sent.findLast((entry) => entry.record === id && entry.withdrawn !== undefined) : undefined;
    const lost = server_withdrawn ? (withdrawal?.id ?? null) : mayGiveBack(record) ? revision : null;
    if (!isLost(lost) || (withdrawal && left?.withdrawn)) continue;
    if (left && isLater(left, record)) {
      const entry = { id: newId(), kind, record: id, based_on: left.revision, seen: left.seq, happened_at: record.happened_at, made_by: record.made_by, message: WRITTEN_SINCE };
      const patch = diffPatch(left.document, server);
      if (withdrawal) given.push({ ...withdrawal, ...entry, made_by: withdrawal.made_by });
      else if (Object.keys(patch).length) given.push({ ...entry, patch });
    } else if (withdrawal) {
      const { based_on: before, made_by, seen = 0 } = withdrawal;
      if (isLost(before)) giveHead({ ...record, made_by }, before);
      given.push({ ...withdrawal, seen: Math.min(seen, left?.seq ?? 0) });
    } else {
      giveHead(record, lost);
    }
  }

  for (const [id, steps] of groupBy(sent.filter((entry) => entry.kind === "order" && isLost(entry.id)))) {
    const [left, record] = [now.get(id), records.find((row) => row.id === id)];
    let message = left || steps[0]!.based_on === null ? undefined : NO_ORDER;
    let last = left?.revision;
    for (const step of steps) {
      // What it followed may be lost too, and was written by somebody else or by the server itself.
      const follows = !isLost(step.based_on) || steps.some((other) => other.id === step.based_on);
      if (!follows && ("answer" in step.patch || (left && record && isLater(left, record)))) message ??= FOLLOWED_NOTHING;
      given.push({ ...step, based_on: follows ? step.based_on : (last ?? step.based_on), seen: 0, ...(message ? { message } : {}) });
      last = step.id;
    }
  }

  const place = (rows[0]?.seq ?? 1) - given.length;
  for (const [index, { id, kind, record, based_on, seen, happened_at, made_by, patch, withdrawn, message }] of given.entries()) {
    await db.outbox.add({
      seq: place + index, id, production, kind, record, based_on, seen, happened_at, made_by, patch, ...(withdrawn === undefined ? {} : { withdrawn }),
      frozen: true, attempts: 0, next_at: 0, ...(message ? { state: "refused", code: LOST, message } : { state: "waiting" }),
    });
  }
}

function groupBy(entries: OutboxRow[]): Map<Id, OutboxRow[]> {
  const groups = new Map<Id, OutboxRow[]>();
  for (const entry of entries) groups.set(entry.record, [...(groups.get(entry.record) ?? []), entry]);
  return groups;
}
