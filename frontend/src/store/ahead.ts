// Fetches ahead, while there is a network, what is wanted without one: the cover, at most once in ten minutes, and pictures,
// the small ones first, at most once a minute, and not where the phone is to save data. While some pictures are not ready it
// is tried again sooner, then more and more rarely.

import { db, type Store } from "../db";
import { zoneOf } from "../domain/moment";
import { shootDate } from "../domain/shootDate";
import { api, NoAnswer, ServerError } from "../sync/api";
import type { Day, Id, ProductionDocument, ShootDayDocument } from "../types";
import { coverFetched } from "./coverKept";
import { fetchLargesAhead } from "./largesAhead";
import { fetchAhead } from "./thumbs";

const APART = 60_000;
const SOONER = 10_000;
const RARELY = 600_000;
let running = false;
let production = "";
let notBefore = 0;
let coverNotBefore = 0;
let inVain = 0;

async function fetchPhoto(production: Id, sha256: string, size: "small" | "large"): Promise<{ bytes: ArrayBuffer; type: string } | null> {
  try {
    return await api.bytes(`/api/productions/${production}/photos/${sha256}/${size}`);
  } catch (error) {
    // Not come to the server yet, not made ready, or not for these eyes.
    if (error instanceof ServerError && error.status === 404) return null;
    throw error;
  }
}

/** The date on set, from the store itself: no screen need show the shoot days. */
export async function dateOnSet(db: Store, chosen: Id, at: Date = new Date()): Promise<Day> {
  const days = await db.records.where("[production+kind]").equals([chosen, "shoot_day"]).filter((row) => !row.withdrawn).toArray();
  const production = (await db.records.get([chosen, chosen]))?.document as ProductionDocument | undefined;
  return shootDate(zoneOf(production), days.map((row) => row.document as unknown as ShootDayDocument), at);
}

async function fetchCover(chosen: Id): Promise<void> {
  if (performance.now() < coverNotBefore) return;
  await coverFetched(chosen);
  coverNotBefore = performance.now() + RARELY;
}

async function fetchPhotos(chosen: Id): Promise<void> {
  const saving = (navigator as { connection?: { saveData?: boolean } }).connection?.saveData;
  if (saving || performance.now() < notBefore) return;
  const { fetched, missing } = await fetchAhead(db, chosen, (sha256) => fetchPhoto(chosen, sha256, "small"));
  await fetchLargesAhead(db, chosen, await dateOnSet(db, chosen), (sha256) => fetchPhoto(chosen, sha256, "large"));
  inVain = missing && !fetched ? inVain + 1 : 0;
  notBefore = performance.now() + (missing ? Math.min(RARELY, SOONER * 2 ** inVain) : APART);
}

export async function fetchForOffline(chosen: Id): Promise<void> {
  if (running) return;
  running = true;
  if (production !== chosen) notBefore = coverNotBefore = 0;
  production = chosen;
  try {
    await fetchCover(chosen);
    await fetchPhotos(chosen);
  } catch (error) {
    // It is tried again with the next news from the server.
    if (!(error instanceof NoAnswer || error instanceof ServerError)) console.error(error);
  } finally {
    running = false;
  }
}
