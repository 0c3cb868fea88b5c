// What is compared: photos of a look's sheets, and the points that align two of them. Call these in markup or $derived.

import { type Point, similarityOf, type Similarity } from "../../../domain/alignment";
import { dayWords } from "../../../domain/moment";
import { type Extent, unitsOf } from "../../../domain/photoView";
import { words } from "../../../domain/words";
import { recordsOf, todayOnSet } from "../../../store/live.svelte";
import { sceneNumber } from "../../../store/names.svelte";
import type { Angle, Id, Photo, Rec } from "../../../types";
import { guideOf } from "../guides.svelte";
import { around, pictureOf } from "../looks.svelte";

export interface Found { sha256: string; sheet: Rec<"application">; photo: Photo }
export interface Points { then: Point[]; now: Point[] }

/** What is compared is a make-up: bare skin, before it or after its removal, is not. Nor is what nobody can be shown. */
const MADE_UP: readonly Photo["moment"][] = ["applied", "on_set", "after"];
const ORDER: readonly Photo["moment"][] = ["applied", "on_set", "after"];

const foundIn = (sheet: Rec<"application">): Found[] =>
  Object.values(sheet.document.photos ?? {}).filter(({ moment, sha256 }) => MADE_UP.includes(moment) && sheet.derived.files?.[sha256] !== "unreadable").map((photo) => ({ sha256: photo.sha256, sheet, photo }));

/** The photos of a look in the order taken, the newest first. */
export function photosOf(look: Id): Found[] {
  return recordsOf("application").list.filter((row) => row.document.look === look).flatMap(foundIn)
    .sort((one, other) => other.photo.taken_at.localeCompare(one.photo.taken_at));
}

/** The pair a look is compared by when none was chosen: the established photo and the newest of the same angle. */
export function usualPair(look: Id, chosen: { then?: string | undefined; now?: string | undefined }): { then: Found | undefined; now: Found | undefined } {
  const all = photosOf(look);
  const bySha = (sha256: string | undefined): Found | undefined => all.find((one) => one.sha256 === sha256) ?? elsewhere(sha256);
  const established = recordsOf("look").get(look)?.document.established;
  const angles = Object.keys(words.angle) as Angle[];
  // Front before profile, as applied before at the end of the day; of several the one nearest to what is wanted.
  const best = (list: Found[], oldest = false): Found | undefined => [...list].sort((one, other) =>
    angles.indexOf(one.photo.angle) - angles.indexOf(other.photo.angle) || ORDER.indexOf(one.photo.moment) - ORDER.indexOf(other.photo.moment) ||
    (oldest ? 1 : -1) * one.photo.taken_at.localeCompare(other.photo.taken_at))[0];
  const given = bySha(chosen.now);
  const then = bySha(chosen.then) ?? best(all.filter((one) => one.sheet.id === established && (!given || one.photo.angle === given.photo.angle)))
    ?? best(all.filter((one) => one.sheet.id !== given?.sheet.id && (!given || one.photo.angle === given.photo.angle)), true) ?? best(all.filter((one) => one !== given), true);
  const others = all.filter((one) => one.sheet.id !== then?.sheet.id);
  const same = others.filter((one) => one.photo.angle === then?.photo.angle);
  return { then, now: given ?? same.find((one) => one.photo.moment === then?.photo.moment) ?? same[0] ?? others[0] ?? all.find((one) => one !== then) };
}

/** What the scenes before and after in the story look like, where that is another look: it may have to be held to them. */
export function besides(look: Id, { photo, sheet }: Found): { words: string; found: Found }[] {
  const near = around(look, photo.scene ?? sheet.document.scenes?.[0]);
  return ([["Before, in the story", near.before], ["After, in the story", near.after]] as const).flatMap(([words, seen]) => {
    const found = seen && seen.look !== look ? elsewhere(pictureOf(seen.look, seen.scene)?.photo.sha256) : undefined;
    return found ? [{ words, found }] : [];
  });
}

/** A photo of another look: the one before in the story may be the one to hold it to. */
function elsewhere(sha256: string | undefined): Found | undefined {
  return sha256 ? recordsOf("application").list.flatMap(foundIn).find((one) => one.sha256 === sha256) : undefined;
}

/** "Established", "Today", or when it was. */
export function nameOf(found: Found, look: Id): string {
  if (recordsOf("look").get(look)?.document.established === found.sheet.id) return "Established";
  return found.sheet.document.date === todayOnSet() ? "Today" : dayWords(found.sheet.document.date, { day: "numeric", month: "short" });
}

/** "Front, applied, scene 12, story day 3, Wed 25 Nov" */
export function wordsOf({ photo, sheet }: Found): string {
  return [
    words.angle[photo.angle], words.photo_moment[photo.moment].toLowerCase(), photo.scene ? `scene ${sceneNumber(photo.scene)}` : "",
    photo.story_day !== undefined ? `story day ${photo.story_day}` : "", dayWords(sheet.document.date),
  ].filter(Boolean).join(", ");
}

/** Points already known for a pair: of a measurement of the two, else the eyes of both. */
export function knownPoints(then: string, now: string): { points: Points; from: "measurement" | "eyes" } | null {
  const measured = recordsOf("colour_measurement").list
    .filter(({ document }) => document.then.sha256 === then && document.now.sha256 === now && (document.then.align?.length ?? 0) >= 2)
    .sort((one, other) => other.happened_at.localeCompare(one.happened_at))[0]?.document;
  if (measured) return { points: { then: measured.then.align!, now: measured.now.align! }, from: "measurement" };
  const [one, other] = [then, now].map((sha256) => guideOf(sha256)?.document.eyes ?? []);
  return one?.length === 2 && other?.length === 2 ? { points: { then: one, now: other }, from: "eyes" } : null;
}

/** How today's photo lies in the frame of the established one by these points. */
export function liesBy(points: Points, frame: Extent, photo: Extent): Similarity | null {
  return similarityOf(points.now.map((point) => unitsOf(point, photo)), points.then.map((point) => unitsOf(point, frame)));
}
