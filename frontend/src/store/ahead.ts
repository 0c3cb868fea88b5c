// Fetches small pictures ahead while there is a network, a minute apart at most, and not where the phone is to save data.

import { db } from "../db";
import { api, NoAnswer, ServerError } from "../sync/api";
import type { Id } from "../types";
import { fetchAhead } from "./thumbs";

const APART = 60_000;
let running = false;
let last = { production: "", at: -APART };

export async function fetchThumbs(production: Id): Promise<void> {
  const saving = (navigator as { connection?: { saveData?: boolean } }).connection?.saveData;
  if (running || saving || (last.production === production && performance.now() - last.at < APART)) return;
  running = true;
  try {
    await fetchAhead(db, production, async (sha256) => {
      try {
        return await api.bytes(`/api/productions/${production}/photos/${sha256}/small`);
      } catch (error) {
        // Not come to the server yet, not made ready, or not for these eyes.
        if (error instanceof ServerError && error.status === 404) return null;
        throw error;
      }
    });
    last = { production, at: performance.now() };
  } catch (error) {
    // It is tried again with the next news from the server.
    if (!(error instanceof NoAnswer || error instanceof ServerError)) console.error(error);
  } finally {
    running = false;
  }
}
