// Story order: by story day, then place in the story, whatever the order of shooting.
//
//   inStoryOrder(scenes)                                 records of scenes, sorted
//   neighboursOf(scene, character, scenes)               { before, here, after }: where the character is seen before and after

import type { Id, SceneDocument } from "../types";

/** By story day, then place in the story, then number; a scene without a story day comes last. */
export function compareScenes(one: SceneDocument, other: SceneDocument): number {
  if (one.story_day !== other.story_day) return (one.story_day ?? Infinity) < (other.story_day ?? Infinity) ? -1 : 1;
  return (one.position ?? 0) - (other.position ?? 0) || one.number.localeCompare(other.number, "en", { numeric: true });
}

export const inStoryOrder = <T extends { document: SceneDocument }>(scenes: readonly T[]): T[] => [...scenes].sort((one, other) => compareScenes(one.document, other.document));

/** A character in a look in a scene. */
export interface Seen { scene: Id; look: Id; character: Id; performer?: Id }

export interface SceneRow { id: Id; document: SceneDocument }

/** Everybody who wears a look in a scene. */
export const seenIn = ({ id, document }: SceneRow): Seen[] =>
  (document.worn ?? []).flatMap(({ character, look, performer }) => (look ? [{ scene: id, look, character, ...(performer ? { performer } : {}) }] : []));

/** A character's scenes with a look, in story order: one a scene, the performer's before a double's. */
export function storyOf(character: Id, scenes: readonly SceneRow[]): Seen[] {
  return inStoryOrder(scenes).flatMap((scene) => {
    const seen = seenIn(scene).filter((one) => one.character === character);
    return seen.find((one) => !one.performer) ?? seen[0] ?? [];
  });
}

export interface Neighbours { before?: Seen; here?: Seen; after?: Seen }

/** Where a character is seen before and after a scene, in the story. The scene need not be one of theirs. */
export function neighboursOf(scene: Id, character: Id, scenes: readonly SceneRow[]): Neighbours {
  const around = scenes.find((one) => one.id === scene);
  if (!around) return {};
  const places = new Map(scenes.map((one) => [one.id, one.document]));
  const order = (seen: Seen): number => (seen.scene === scene ? 0 : compareScenes(places.get(seen.scene)!, around.document));
  const story = storyOf(character, scenes);
  const before = story.filter((seen) => order(seen) < 0).at(-1);
  const here = story.find((seen) => seen.scene === scene);
  const after = story.find((seen) => order(seen) > 0);
  return { ...(before ? { before } : {}), ...(here ? { here } : {}), ...(after ? { after } : {}) };
}
