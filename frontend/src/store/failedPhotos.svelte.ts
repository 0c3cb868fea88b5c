// Photos the server has and can make nothing of. The phone that sent them has let them go; the record tells, to all who
// could have taken them, so that one of them has it tried again or takes another.

import { session } from "../sync/session.svelte";
import type { Id, Photo } from "../types";
import { recordsOf } from "./live.svelte";

export interface FailedPhoto { application: Id; sha256: string; photo: Photo }

export function failedPhotos(): FailedPhoto[] {
  if (!session.can("application")) return [];
  const found = new Map<string, FailedPhoto>();
  for (const row of recordsOf("application").list) {
    const files = row.derived.files ?? {};
    for (const photo of Object.values(row.document.photos ?? {})) {
      if (files[photo.sha256] === "unreadable") found.set(photo.sha256, { application: row.id, sha256: photo.sha256, photo });
    }
  }
  return [...found.values()];
}
