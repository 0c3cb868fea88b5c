// Where each copy is now, by what was said of it and by the applications on this phone. Read in markup or in $derived.

import { type CopyNow, copyStates } from "../../domain/copyState";
import { addDays } from "../../domain/moment";
import { optionsOf, words } from "../../domain/words";
import { recordsOf } from "../../store/live.svelte";
import type { CopyState, Day, Id } from "../../types";

const states = $derived(copyStates(recordsOf("copy").list, recordsOf("application").list));

export const copyStatesNow = (): ReadonlyMap<Id, CopyNow> => states;
export const stateOf = (copy: Id): CopyNow => states.get(copy) ?? { state: "shop" };

/** Places a person can say a copy is in; applied and used up follow from the applications. */
export const PLACES = optionsOf(words.copy_state).filter(({ value }) => value !== "applied" && value !== "used_up");
export const TO_BE_USED: readonly CopyState[] = ["shop", "in_transit", "on_set"];

/** The day until which a copy may be used: the day it was cast and the appliance's shelf life. */
export function useByOf(appliance: Id | undefined, castOn: Day | undefined): Day | undefined {
  const days = recordsOf("appliance").get(appliance)?.document.shelf_life_days;
  return days && castOn ? addDays(castOn, days) : undefined;
}
