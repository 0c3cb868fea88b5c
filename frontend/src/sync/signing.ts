// Signing in and out: when the phone goes from one person to another.

import { db, sentOnly } from "../db";
import { api, NoAnswer, ServerError } from "./api";
import { retryNotAllowed } from "./needsYou";
import { session, type SessionAnswer } from "./session.svelte";

/** Returns null, or words fit for the screen. */
export async function signIn(username: string, password: string): Promise<string | null> {
  try {
    // Only for the token: without a network signing out did not reach the server, which may still know the last person.
    api.csrf = (await api.get<SessionAnswer>("/api/session", "session")).csrf;
    await session.take(await api.send<SessionAnswer>("POST", "/api/session", { username, password }, "session"));
    await retryNotAllowed(db);
    return null;
  } catch (error) {
    if (error instanceof ServerError || error instanceof NoAnswer) return error.message;
    throw error;
  }
}

/** Forgets who we are, what was fetched, and what was kept of what was sent; what is not sent yet stays. */
export async function signOut(): Promise<void> {
  await api.send("DELETE", "/api/session", undefined, null).catch(() => undefined);
  await db.transaction("rw", [db.records, db.outbox, db.photoIndex, db.thumbs, db.larges, db.sentPhotos, db.sentBytes, db.sentEntries, db.meta], async () => {
    const unsent = new Set((await db.outbox.toArray()).map((row) => row.record));
    await db.records.filter((row) => !unsent.has(row.id)).delete();
    await db.thumbs.clear();
    await db.larges.clear();
    await db.sentBytes.bulkDelete(await sentOnly(db, db.sentBytes));
    await db.sentPhotos.bulkDelete(await sentOnly(db, db.sentPhotos));
    await db.sentEntries.clear();
    await db.meta.where("name").startsWith("cursor:").delete();
    await db.meta.delete("session");
  });
  session.forget();
}
