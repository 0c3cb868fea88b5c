// What a look is held to. Call these in markup or $derived: they follow the records.

import type { Id, Rec } from "../types";
import { recordsOf } from "./live.svelte";

/** The application a look is held to. */
export function establishedOf(look: Id | undefined): Rec<"application"> | undefined {
  const row = recordsOf("application").get(recordsOf("look").get(look)?.document.established);
  return row?.withdrawn ? undefined : row;
}

/** The scene a look was established in: of its photos, else the first of its sheet. */
export function establishedIn(look: Id | undefined): Rec<"scene"> | undefined {
  const sheet = establishedOf(look)?.document;
  const photographed = Object.values(sheet?.photos ?? {}).find((photo) => photo.moment === "on_set" && photo.scene)?.scene;
  return recordsOf("scene").get(photographed ?? sheet?.scenes?.[0]);
}

/** "scene 42, story day 3" */
export function sceneWords(id: Id | undefined): string {
  const scene = recordsOf("scene").get(id)?.document;
  if (!scene) return "scene not known here";
  return `scene ${scene.number}${scene.story_day === undefined ? "" : `, story day ${scene.story_day}`}`;
}
