// What the cover cannot count of the shoot days ahead, because something is missing in the set-up.

import type { Day, Id, ShootDayDocument } from "../types";
import { type DayFacts, isWithoutPiece } from "./today";

/** A look that is to be worn: by a character whom nobody plays yet, or by a performer for whom none of its appliances is made. */
export type Uncounted = { look: Id; character: Id } | { look: Id; performer: Id };

/** Each once, in the order of the shoot days from today on. */
export function uncounted(shootDays: readonly ShootDayDocument[], today: Day, facts: DayFacts): Uncounted[] {
  const found = new Map<string, Uncounted>();
  const ahead = shootDays.filter((day) => day.date >= today).sort((one, other) => one.date.localeCompare(other.date));
  for (const planned of ahead.flatMap((day) => day.scenes ?? [])) {
    for (const { character, look, performer: double } of facts.scenes.get(planned.scene)?.worn ?? []) {
      if (!look || !facts.looks.get(look)?.appliances?.length) continue;
      const performer = double ?? facts.characters.get(character)?.performer;
      if (!performer) found.set(`${character} ${look}`, { look, character });
      else if (isWithoutPiece(performer, look, facts)) found.set(`${performer} ${look}`, { look, performer });
    }
  }
  return [...found.values()];
}
