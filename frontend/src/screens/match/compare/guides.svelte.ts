// The eyes of a photo, kept for everybody.

import type { Point } from "../../../domain/alignment";
import { save } from "../../../store/save";
import { guideOf } from "../guides.svelte";

/** The first two points of a photo are its eyes: into the guide it has, or a new one. */
export async function guideEyes(sha256: string, points: readonly Point[]): Promise<void> {
  const guide = guideOf(sha256);
  const eyes = [...points.slice(0, 2)].sort((one, other) => one.x - other.x).map(({ x, y }) => ({ x, y }));
  await save("photo_guide", guide?.id ?? null, guide ? { eyes } : { sha256, eyes });
}
