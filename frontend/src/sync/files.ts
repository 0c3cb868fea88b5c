// Sends photos, each on its own and from where it stopped. The entry that lists a photo goes first; a photo is sent only
// when the server says that this very file is stored. It says so before anything is made of the file; where nothing can
// be made of it, the record tells, and it is tried again from there.

import { isOutOfRoom, type PhotoRow, type Store } from "../db";
import type { Id } from "../types";
import { NoAnswer, ServerError } from "./api";
import { backoff, isDue } from "./backoff";
import { type SendContext, type Stop, stopOf, withRenewal } from "./send";
import { keepSent, originalOf } from "./sentPhotos";

const PIECE = 512 * 1024;

interface FileAnswer {
  answer: "file";
  state: "awaited" | "stored";
  received: number;
}

export async function sendFiles(context: SendContext, production: Id): Promise<{ stop: Stop; sent: number }> {
  const { db } = context;
  const clock = context.now ?? Date.now;
  let sent = 0;
  const rows = (await db.photoIndex.toArray())
    .filter((row) => row.production === production && row.state === "waiting" && isDue(row.next_at, clock()))
    .sort((one, other) => one.added_at - other.added_at);
  for (const row of rows) {
    if (!(await maySend(db, row))) continue;
    try {
      if (await sendFile(context, row)) sent += 1;
    } catch (error) {
      const stop = stopOf(error);
      if (stop === "network" || stop === "odd" || stop === "signed_out") return { stop, sent };
      await later(context, row);
    }
  }
  return { stop: "done", sent };
}

/** Whether a photo can go: not before the entry that lists it, and not while that is set aside. */
async function maySend(db: Store, row: PhotoRow): Promise<boolean> {
  const { production, sha256, application } = row;
  return db.transaction("rw", db.outbox, db.records, db.photoIndex, async () => {
    const lists = (value: unknown): boolean => JSON.stringify(value ?? null).includes(sha256);
    const entries = (await db.outbox.where("[production+record]").equals([production, application]).toArray())
      .filter((entry) => entry.code !== "corrected" && lists(entry.patch));
    if (entries.some((entry) => entry.state !== "set_aside")) return false;
    if (!entries.length || lists((await db.records.get([production, application]))?.server)) return true;
    await db.photoIndex.update([production, sha256], { state: "set_aside" });
    return false;
  });
}

async function later(context: SendContext, row: PhotoRow): Promise<void> {
  const attempts = row.attempts + 1;
  await context.db.photoIndex.update([row.production, row.sha256], {
    attempts, next_at: (context.now ?? Date.now)() + backoff(attempts, context.random),
  });
}

/** True once the server has the whole file. */
async function sendFile(context: SendContext, row: PhotoRow): Promise<boolean> {
  const { db, api } = context;
  const path = `/api/productions/${row.production}/files/${row.sha256}`;
  const kept = await originalOf(db, row.production, row.sha256);
  const total = kept?.byteLength ?? row.size;
  let answer: FileAnswer;
  try {
    // Asked to try it again, a server that was restored looks whether it really has what it believes to have.
    const isSent = (await db.sentPhotos.get([row.production, row.sha256])) !== undefined;
    answer = await withRenewal(context, () => isSent ? api.send<FileAnswer>("POST", `${path}/retry`, {}, "file") : api.get<FileAnswer>(path, "file"));
  } catch (error) {
    // Before the first piece the server may not know of the file at all.
    if (!(error instanceof ServerError) || error.status !== 404 || error.code !== "not_expected") throw error;
    answer = { answer: "file", state: "awaited", received: 0 };
  }
  let startedOver = false;
  let corrections = 0;
  if (answer.state === "awaited" && !kept) {
    // The browser cleared it: said, so that it can be taken again.
    await db.photoIndex.update([row.production, row.sha256], { state: "unreadable", message: "The browser no longer has this photo." });
    return false;
  }
  while (answer.state === "awaited" && kept) {
    const from = answer.received;
    if (!Number.isInteger(from) || from < 0 || from >= total) throw new NoAnswer("odd", 200);
    const piece = kept.slice(from, Math.min(total, from + PIECE));
    const headers = {
      "Content-Type": "application/octet-stream",
      "Content-Range": `bytes ${from}-${from + piece.byteLength - 1}/${total}`,
    };
    try {
      answer = await withRenewal(context, () => api.put<FileAnswer>(path, piece, headers, "file"));
      if (answer.state === "awaited" && answer.received <= from) throw new NoAnswer("odd", 200);
      await db.photoIndex.update([row.production, row.sha256], { received: answer.received });
    } catch (error) {
      if (!(error instanceof ServerError)) throw error;
      if (error.code === "wrong_offset" && (corrections += 1) <= 3) {
        answer = await api.get<FileAnswer>(path, "file");
      } else if (error.code === "hash_mismatch" && !startedOver) {
        startedOver = true;
        answer = { answer: "file", state: "awaited", received: 0 };
      } else if (!error.retryable && [400, 413, 422].includes(error.status)) {
        await db.photoIndex.update([row.production, row.sha256], { state: "unreadable", message: error.message });
        return false;
      } else {
        throw error;
      }
    }
  }
  if (answer.state !== "stored") throw new NoAnswer("odd", 200);
  const settle = (keep: boolean): Promise<void> =>
    db.transaction("rw", db.photoIndex, db.photoBytes, db.sentPhotos, db.sentBytes, db.meta, async () => {
      await db.photoIndex.delete([row.production, row.sha256]);
      await db.photoBytes.delete([row.production, row.sha256]);
      if (kept && keep && (!context.isHere || (await context.isHere()))) await keepSent(db, row, kept, (context.now ?? Date.now)());
    });
  await settle(true).catch((error: unknown) => {
    if (!isOutOfRoom(error)) throw error;
    return settle(false);
  });
  return true;
}
