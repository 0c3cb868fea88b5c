// Cast runs and parcels of an order, and the timers that run at the bench. Read in markup or in $derived.

import { goodFor } from "../../domain/castResult";
import type { Timer } from "../../domain/timers";
import { recordsOf } from "../../store/live.svelte";
import type { Id, Rec } from "../../types";

export const runsOfOrder = (order: Id): Rec<"cast_run">[] =>
  recordsOf("cast_run").list.filter(({ document }) => document.order === order).sort((one, other) => (one.document.started_at ?? one.document.cast_on).localeCompare(other.document.started_at ?? other.document.cast_on));

/** Copies of the grade that this order asks for, or better, that have come out of the moulds for it. */
export function goodOfOrder(order: Id): number {
  const asked = recordsOf("order").get(order)?.document;
  const own = recordsOf("appliance").get(asked?.appliance)?.document.grade ?? "hero";
  return runsOfOrder(order).reduce((sum, { document }) => sum + goodFor(asked?.grade ?? own, own, document), 0);
}

export const parcelsOfOrder = (order: Id): Rec<"parcel">[] => recordsOf("parcel").list.filter(({ document }) => document.order === order);

export interface RunningTimer extends Timer { id: Id; run: Id; appliance: Id }

/** Timers that nobody has stopped, of all runs, those over first. */
export function openTimers(): RunningTimer[] {
  const ends = (timer: Timer): number => Date.parse(timer.started_at) + timer.minutes * 60_000;
  return recordsOf("cast_run").list
    .flatMap(({ id: run, document }) => Object.entries(document.timers ?? {}).filter(([, timer]) => !timer.stopped_at).map(([id, timer]) => ({ ...timer, id, run, appliance: document.appliance })))
    .sort((one, other) => ends(one) - ends(other));
}
