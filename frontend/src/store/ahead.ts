// Fetches small pictures ahead while there is a network, at most once a minute, and not where the phone is to save data.
// While some are not ready it is tried again sooner, then more and more rarely.

import { db } from "../db";
import { api, NoAnswer, ServerError } from "../sync/api";
import type { Id } from "../types";
import { fetchAhead } from "./thumbs";

const APART = 60_000;
const SOONER = 10_000;
const RARELY = 600_000;
let running = false;
let production = "";
let notBefore = 0;
let inVain = 0;

export async function fetchThumbs(chosen: Id): Promise<void> {
  const saving = (navigator as { connection?: { saveData?: boolean } }).connection?.saveData;
  if (running || saving || (production === chosen && performance.now() < notBefore)) return;
  running = true;
  production = chosen;
  try {
    const { fetched, missing } = await fetchAhead(db, production, async (sha256) => {
      try {
        return await api.bytes(`/api/productions/${production}/photos/${sha256}/small`);
      } catch (error) {
        // Not come to the server yet, not made ready, or not for these eyes.
        if (error instanceof ServerError && error.status === 404) return null;
        throw error;
      }
    });
    inVain = missing && !fetched ? inVain + 1 : 0;
    notBefore = performance.now() + (missing ? Math.min(RARELY, SOONER * 2 ** inVain) : APART);
  } catch (error) {
    // It is tried again with the next news from the server.
    if (!(error instanceof NoAnswer || error instanceof ServerError)) console.error(error);
  } finally {
    running = false;
  }
}
