// Where on the face or body an adhesive goes.

import type { ApplicationDocument, Id, Rec } from "../types";

export const STANDARD_ZONES: readonly string[] = ["Forehead", "Brow", "Nose", "Cheek", "Jaw", "Neck", "Hand", "Edges"];

type Sheet = Pick<Rec<"application">, "id" | "happened_at"> & { document: Pick<ApplicationDocument, "look" | "adhesives" | "started_at"> };

/** The zones to offer on a sheet: those of the look's other sheets, latest first, so that a place keeps its word; the
    standard ones while there are none. A zone written in capitals here and small letters there is one, as written last. */
export function zonesFor(look: Id, sheet: Id, sheets: readonly Sheet[]): readonly string[] {
  const when = (one: Sheet): number => Date.parse(one.document.started_at ?? one.happened_at);
  const found = new Map<string, string>();
  for (const one of sheets.filter(({ id, document }) => id !== sheet && document.look === look).sort((one, other) => when(other) - when(one))) {
    for (const { zone } of Object.values(one.document.adhesives ?? {})) {
      if (!found.has(zone.toLowerCase())) found.set(zone.toLowerCase(), zone);
    }
  }
  return found.size ? [...found.values()] : STANDARD_ZONES;
}
