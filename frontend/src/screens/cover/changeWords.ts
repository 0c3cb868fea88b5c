// A change that is tried out, in words of this phone's records. Read in markup or in $derived.

import { dayWords } from "../../domain/moment";
import { recordsOf } from "../../store/live.svelte";
import { applianceName, sceneNumber, unitName } from "../../store/names.svelte";
import type { WhatIfChange } from "../../answers";
import { copiesWords } from "./coverWords";

export function changeWords(change: WhatIfChange): string {
  switch (change.change) {
    case "move_shoot_day": {
      const day = recordsOf("shoot_day").get(change.shoot_day)?.document;
      return `${day ? `${dayWords(day.date)}, ${unitName(day.unit)}` : "A shoot day"} moves to ${dayWords(change.date)}`;
    }
    case "add_shoot_day":
      return `One more shoot day, ${dayWords(change.date)}, ${unitName(change.unit)}: ${change.scenes.length === 1 ? "scene" : "scenes"} ${change.scenes.map(sceneNumber).join(", ")}`;
    case "reshoot":
      return `Scene ${sceneNumber(change.scene)} is shot again on ${dayWords(change.date)}`;
    case "lose_copies":
      return `${copiesWords(change.copies)} of ${applianceName(change.appliance)} ${change.copies === 1 ? "is" : "are"} lost`;
    case "target":
      return `${Number((change.target * 100).toPrecision(6))}\u00a0% is wanted`;
  }
}
