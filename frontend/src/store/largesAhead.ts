// Large pictures of what has to be matched next: the established photos of the looks worn on the coming shoot days, one an
// angle. So the ghost in the camera and the comparing are sharp in a trailer without a network, the first time too.

import type { Store } from "../db";
import { type ApplicationRow, shotsOf } from "../domain/wantedAngles";
import { keepLarge } from "../sync/largePhotos";
import type { Day, Id, LookDocument, SceneDocument, ShootDayDocument } from "../types";

const DAYS = 3;
/** A third, or so, of what LARGE_BUDGET holds. */
const MOST = 24;

/** Their sha256, in the order in which the looks are shot. */
export async function comingPhotos(db: Store, production: Id, today: Day): Promise<string[]> {
  const rows = async <T>(kind: string): Promise<{ id: Id; document: T }[]> =>
    (await db.records.where("[production+kind]").equals([production, kind]).filter((row) => !row.withdrawn).toArray()) as unknown as { id: Id; document: T }[];
  const days = (await rows<ShootDayDocument>("shoot_day")).map((row) => row.document).filter((day) => day.date >= today)
    .sort((one, other) => one.date.localeCompare(other.date) || one.crew_call.localeCompare(other.crew_call));
  const dates = [...new Set(days.map((day) => day.date))].slice(0, DAYS);
  const scenes = new Map((await rows<SceneDocument>("scene")).map((row) => [row.id, row.document]));
  const looks = new Map((await rows<LookDocument>("look")).map((row) => [row.id, row.document]));
  const worn = days.filter((day) => dates.includes(day.date)).flatMap((day) => day.scenes ?? []).flatMap((planned) => scenes.get(planned.scene)?.worn ?? []);
  const established = new Set(worn.map((each) => looks.get(each.look ?? "")?.established).filter((id) => id !== undefined && id !== null));
  const photos: string[] = [];
  for (const id of established) {
    const row = await db.records.get([production, id]);
    if (!row || row.withdrawn) continue;
    const angles = new Set<string>();
    for (const { photo } of shotsOf(row as unknown as ApplicationRow)) {
      if (!angles.has(photo.angle)) photos.push(photo.sha256);
      angles.add(photo.angle);
    }
  }
  return [...new Set(photos)].slice(0, MOST);
}

/** How many were fetched. `fetchLarge` answers null for one that is not ready, and throws when there is no use in going on. */
export async function fetchLargesAhead(
  db: Store, production: Id, today: Day, fetchLarge: (sha256: string) => Promise<{ bytes: ArrayBuffer; type: string } | null>,
): Promise<number> {
  const wanted = await comingPhotos(db, production, today);
  const kept = new Set((await db.larges.where("[production+sha256]").anyOf(wanted.map((sha256) => [production, sha256])).primaryKeys()).map(([, sha256]) => sha256));
  let fetched = 0;
  for (const sha256 of wanted) {
    if (kept.has(sha256)) continue;
    const large = await fetchLarge(sha256);
    if (!large) continue;
    await keepLarge(db, production, sha256, large.bytes, large.type);
    fetched += 1;
  }
  return fetched;
}
