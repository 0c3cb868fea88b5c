// Places in a photo that do not match, while they are being said.

import type { Id } from "../../../types";

export interface Pinned { id: Id; x: number; y: number; words: string }

/** One tap for what is said most. */
export const WHAT = ["Edge shows", "Too red", "Too pale", "Too dark", "Sits too high", "Sits too low", "Shine"];
