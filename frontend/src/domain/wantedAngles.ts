// The photos a look is known by: which angles are wanted, which are shot, the established one of an angle and the last.

import type { Angle, ApplicationDocument, Id, LookDocument, Photo, PhotoMoment } from "../types";

/** Common practice, no source: what is wanted of a look that says nothing else. */
export const USUAL_ANGLES: readonly Angle[] = ["front", "three_quarter_left", "three_quarter_right", "close_up"];

/** In the order they are shot in; the close-up last. */
export const ALL_ANGLES: readonly Angle[] = ["front", "three_quarter_left", "three_quarter_right", "profile_left", "profile_right", "close_up"];

export function wantedAngles(look: Pick<LookDocument, "wanted_angles"> | undefined): Angle[] {
  const wanted = look?.wanted_angles?.length ? look.wanted_angles : USUAL_ANGLES;
  return ALL_ANGLES.filter((angle) => wanted.includes(angle));
}

/** How many photos of this angle and moment a sheet has. */
export const shotCount = (sheet: Pick<ApplicationDocument, "photos"> | undefined, angle: Angle, moment: PhotoMoment): number =>
  Object.values(sheet?.photos ?? {}).filter((photo) => photo.angle === angle && photo.moment === moment).length;

/** The angle to shoot next: the first wanted one that is not shot yet, going on from the one before; null when all are. */
export function nextAngle(wanted: readonly Angle[], sheet: Pick<ApplicationDocument, "photos"> | undefined, moment: PhotoMoment, after?: Angle): Angle | null {
  const from = after ? wanted.indexOf(after) + 1 : 0;
  return [...wanted.slice(from), ...wanted.slice(0, from)].find((angle) => !shotCount(sheet, angle, moment)) ?? null;
}

/** A photo with the application it belongs to. */
export interface Shot { application: Id; key: Id; photo: Photo; performer: Id }
export interface ApplicationRow { id: Id; document: ApplicationDocument; happened_at: string; derived?: { files?: Record<string, string> | undefined } }

// What is on the face on camera is what has to match; how it looked before or after says less. Bare skin says nothing.
const RANK: Record<PhotoMoment, number> = { on_set: 0, applied: 1, after: 2, before: 3, removed: 4 };
const SHOWS_THE_LOOK: readonly PhotoMoment[] = ["on_set", "applied", "after"];

const compareShots = (one: Shot, other: Shot): number =>
  RANK[one.photo.moment] - RANK[other.photo.moment] ||
  Number(!!one.photo.kept_despite?.length) - Number(!!other.photo.kept_despite?.length) ||
  other.photo.taken_at.localeCompare(one.photo.taken_at);

/** The photos of an application that show the look, the most telling first; not those of which nothing can be shown. */
export function shotsOf(row: ApplicationRow | undefined): Shot[] {
  if (!row) return [];
  return Object.entries(row.document.photos ?? {})
    .filter(([, photo]) => SHOWS_THE_LOOK.includes(photo.moment) && row.derived?.files?.[photo.sha256] !== "unreadable")
    .map(([key, photo]) => ({ application: row.id, key, photo, performer: row.document.performer }))
    .sort(compareShots);
}

export const shotOfAngle = (row: ApplicationRow | undefined, angle: Angle): Shot | undefined => shotsOf(row).find((shot) => shot.photo.angle === angle);

/** Front first: what stands for an application where there is room for one picture. */
export function faceOf(row: ApplicationRow | undefined): Shot | undefined {
  const shots = shotsOf(row);
  return ALL_ANGLES.map((angle) => shots.find((shot) => shot.photo.angle === angle)).find((shot) => shot !== undefined);
}

const startOf = (row: ApplicationRow): string => `${row.document.date} ${row.document.started_at ?? row.happened_at}`;

/** The applications of a look, the last one first. */
export const applicationsOf = <T extends ApplicationRow>(look: Id, applications: readonly T[]): T[] =>
  applications.filter((row) => row.document.look === look).sort((one, other) => startOf(other).localeCompare(startOf(one)));

/** The last photo of an angle of a look; `except` leaves an application out, a `performer`'s own come first. */
export function lastShot(look: Id, angle: Angle, applications: readonly ApplicationRow[], { except, performer }: { except?: Id | undefined; performer?: Id | undefined } = {}): Shot | undefined {
  const shots = applicationsOf(look, applications).filter((row) => row.id !== except).flatMap((row) => shotOfAngle(row, angle) ?? []);
  return shots.find((shot) => shot.performer === performer) ?? shots[0];
}

/** What a scene looked like: a photo taken in it, else one of an application worn in it; the front before other angles. */
export function shotInScene(scene: Id, look: Id, applications: readonly ApplicationRow[], angle?: Angle): Shot | undefined {
  const rows = applicationsOf(look, applications);
  const taken = rows.flatMap(shotsOf).filter((shot) => shot.photo.scene === scene).sort(compareShots);
  const worn = rows.filter((row) => row.document.scenes?.includes(scene)).flatMap(shotsOf);
  const order = angle ? [angle, ...ALL_ANGLES] : ALL_ANGLES;
  for (const shots of [taken, worn]) {
    for (const wanted of order) {
      const shot = shots.find((one) => one.photo.angle === wanted);
      if (shot) return shot;
    }
  }
  return undefined;
}
