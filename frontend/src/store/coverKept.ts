// The cover as the server last worked it out, kept on the phone, so that it is there without a network.

import type { CoverAnswer } from "../answers";
import { db } from "../db";
import { api } from "../sync/api";
import type { Id } from "../types";

const nameOf = (production: Id): string => `cover:${production}`;

export const coverKept = (production: Id): Promise<CoverAnswer | undefined> => db.getMeta<CoverAnswer>(nameOf(production));

/** From the server, kept on the way. */
export async function coverFetched(production: Id): Promise<CoverAnswer> {
  const answer = await api.get<CoverAnswer>(`/api/productions/${production}/cover`, "cover");
  await db.setMeta(nameOf(production), answer);
  return answer;
}
