// Where each copy is, from what was last said of it and from the applications known here, sent or not.
//
//   const states = copyStates(copies, applications);   states.get(copyId) -> { state, application? }
//   nextCopies(appliance, copies, states, today)        the spares, in the order to take them: first expired, first used

import type { ApplianceDocument, CopyDocument, CopyState, Day, Grade, Id, Rec } from "../types";

const RANK: Record<Grade, number> = { hero: 2, mid: 1, background: 0 };

/** A higher grade may stand in for a lower one, never the other way (common practice, no source). */
export const gradeServes = (copy: Grade, wanted: Grade): boolean => RANK[copy] >= RANK[wanted];

export interface CopyNow { state: CopyState; application?: Id }

type CopyRecord = Pick<Rec<"copy">, "id" | "document" | "derived">;
type ApplicationRecord = Pick<Rec<"application">, "id" | "document">;

/** `applications` without the withdrawn ones. An application decides over what was said of the copy. */
export function copyStates(copies: readonly CopyRecord[], applications: readonly ApplicationRecord[]): Map<Id, CopyNow> {
  const taken = new Map<Id, CopyNow>();
  const known = new Set<Id>();
  for (const { id, document } of applications) {
    known.add(id);
    for (const use of Object.values(document.copies ?? {})) {
      const state: CopyState = use.outcome === "spoiled" ? "damaged" : use.outcome === "lost" ? "lost" : document.removed_at ? "used_up" : "applied";
      // Applied twice while two phones were apart: spoiled, lost or removed is further along than applied.
      if (taken.get(use.copy_used)?.state !== undefined && state === "applied") continue;
      taken.set(use.copy_used, { state, application: id });
    }
  }
  return new Map(copies.map(({ id, document, derived }) => {
    const byApplication = taken.get(id);
    if (byApplication) return [id, byApplication];
    // An application this phone has not been given (or not yet): the server's word counts.
    const elsewhere = derived.applications?.find((application) => !known.has(application));
    if (elsewhere && derived.state) return [id, { state: derived.state, application: elsewhere }];
    return [id, { state: document.state ?? "shop" }];
  }));
}

export const pastShelfDate = (copy: CopyDocument, day: Day): boolean => copy.use_by !== undefined && copy.use_by < day;

const keptFor = (copy: CopyDocument, shot: ReadonlySet<Id>): boolean => !!copy.set_aside_for && !shot.has(copy.set_aside_for);

/** Scenes for which nothing is kept any more: gone from the script, or shot before `today` and planned no more. */
export function scenesShot(scenes: readonly Pick<Rec<"scene">, "id" | "withdrawn">[], days: readonly Pick<Rec<"shoot_day">, "document">[], today: Day): Set<Id> {
  const shot = new Set(scenes.filter(({ withdrawn }) => withdrawn).map(({ id }) => id));
  const on = (when: (day: Day) => boolean): Id[] => days.filter(({ document }) => when(document.date)).flatMap(({ document }) => (document.scenes ?? []).map(({ scene }) => scene));
  for (const scene of on((day) => day < today)) shot.add(scene);
  for (const scene of on((day) => day >= today)) shot.delete(scene);
  return shot;
}

/**
 * Usable copies on set in the order to take them: those set aside for one of `scenes` first, then first expired first
 * used, then the lowest grade that serves, then by serial. A copy set aside for another scene is no spare here, until that
 * scene is among the `shot`.
 */
export function nextCopies<T extends CopyRecord>(
  appliance: { id: Id; document: Pick<ApplianceDocument, "grade"> },
  copies: readonly T[],
  states: ReadonlyMap<Id, CopyNow>,
  day: Day,
  scenes: readonly Id[] = [],
  shot: ReadonlySet<Id> = new Set(),
): T[] {
  const wanted = appliance.document.grade ?? "hero";
  return copies
    .filter(({ id, document }) =>
      document.appliance === appliance.id && states.get(id)?.state === "on_set" && !pastShelfDate(document, day) && gradeServes(document.grade, wanted) &&
      (!keptFor(document, shot) || scenes.includes(document.set_aside_for!)))
    .sort((one, other) =>
      Number(!keptFor(one.document, shot)) - Number(!keptFor(other.document, shot)) ||
      (one.document.use_by ?? "9999").localeCompare(other.document.use_by ?? "9999") ||
      RANK[one.document.grade] - RANK[other.document.grade] ||
      one.document.serial.localeCompare(other.document.serial, "en", { numeric: true }));
}
