// What continuity has said of an application. Call these in markup or $derived: they follow the records.

import { recordsOf } from "../../../store/live.svelte";
import type { Id, Rec } from "../../../types";

/** The verdict that counts: the newest that is not taken back. */
export function verdictOf(application: Id): Rec<"verdict"> | undefined {
  return recordsOf("verdict").list
    .filter((row) => row.document.application === application)
    .reduce<Rec<"verdict"> | undefined>((newest, row) => (!newest || row.happened_at > newest.happened_at || (row.happened_at === newest.happened_at && row.id > newest.id) ? row : newest), undefined);
}

/** What somebody else has said of it, where it is the opposite of what counts, and not taken back. */
export function otherwiseOf(application: Id): Rec<"verdict"> | undefined {
  const counts = verdictOf(application);
  return counts && recordsOf("verdict").list
    .filter((row) => row.document.application === application && row.made_by !== counts.made_by && row.document.verdict !== counts.document.verdict)
    .sort((one, other) => other.happened_at.localeCompare(one.happened_at))[0];
}

/** Whether the look is held to this application. */
export function isEstablished(application: Id): boolean {
  const look = recordsOf("application").get(application)?.document.look;
  return recordsOf("look").get(look)?.document.established === application;
}
