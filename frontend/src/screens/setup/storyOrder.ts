import type { SceneDocument } from "../../types";

/** By story day, then place in the story, then number; a scene without a story day comes last. */
export function compareScenes(one: SceneDocument, other: SceneDocument): number {
  if (one.story_day !== other.story_day) return (one.story_day ?? Infinity) < (other.story_day ?? Infinity) ? -1 : 1;
  return (one.position ?? 0) - (other.position ?? 0) || one.number.localeCompare(other.number, "en", { numeric: true });
}

export const inStoryOrder = <T extends { document: SceneDocument }>(scenes: readonly T[]): T[] => [...scenes].sort((one, other) => compareScenes(one.document, other.document));
