// Fetches pictures ahead while there is a network, the small ones first, at most once a minute, and not where the phone is
// to save data. While some are not ready it is tried again sooner, then more and more rarely.

import { db } from "../db";
import { dayIn } from "../domain/moment";
import { api, NoAnswer, ServerError } from "../sync/api";
import type { Id } from "../types";
import { fetchLargesAhead } from "./largesAhead";
import { zone } from "./live.svelte";
import { fetchAhead } from "./thumbs";

const APART = 60_000;
const SOONER = 10_000;
const RARELY = 600_000;
let running = false;
let production = "";
let notBefore = 0;
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

export async function fetchPhotosAhead(chosen: Id): Promise<void> {
  const saving = (navigator as { connection?: { saveData?: boolean } }).connection?.saveData;
  if (running || saving || (production === chosen && performance.now() < notBefore)) return;
  running = true;
  production = chosen;
  try {
    const { fetched, missing } = await fetchAhead(db, chosen, (sha256) => fetchPhoto(chosen, sha256, "small"));
    await fetchLargesAhead(db, chosen, dayIn(zone()), (sha256) => fetchPhoto(chosen, sha256, "large"));
    inVain = missing && !fetched ? inVain + 1 : 0;
    notBefore = performance.now() + (missing ? Math.min(RARELY, SOONER * 2 ** inVain) : APART);
  } catch (error) {
    // It is tried again with the next news from the server.
    if (!(error instanceof NoAnswer || error instanceof ServerError)) console.error(error);
  } finally {
    running = false;
  }
}
