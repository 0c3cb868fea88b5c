import { dayIn } from "../../domain/moment";
import { recordsOf, zone } from "../../store/live.svelte";
import type { Kind } from "../../types";
import { gaps, type Shelves } from "./gaps";

const shelves = $derived<Shelves>({
  today: dayIn(zone()),
  character: recordsOf("character").list, look: recordsOf("look").list, appliance: recordsOf("appliance").list, mould: recordsOf("mould").list,
  cast_run: recordsOf("cast_run").list, copy: recordsOf("copy").list, material: recordsOf("material").list, scene: recordsOf("scene").list,
  shoot_day: recordsOf("shoot_day").list,
});

/** What is missing in this kind, in words. Follows the records. */
export const gapsOf = (kind: Kind): string[] => gaps(kind, shelves);
