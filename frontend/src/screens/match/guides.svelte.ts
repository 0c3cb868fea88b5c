// The eye line and the outline of the piece on a photo. Call it in markup or $derived: it follows the records.

import { recordsOf } from "../../store/live.svelte";
import type { Rec } from "../../types";

/** The guide that counts for a photo: the newest. */
export const guideOf = (sha256: string | undefined): Rec<"photo_guide"> | undefined =>
  recordsOf("photo_guide").list
    .filter((row) => row.document.sha256 === sha256)
    .sort((one, other) => other.happened_at.localeCompare(one.happened_at) || other.id.localeCompare(one.id))[0];
