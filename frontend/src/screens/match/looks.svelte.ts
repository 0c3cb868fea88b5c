// What Match knows of the looks. Call these in markup or $derived: they follow the records.

import { type Neighbours, neighboursOf, storyOf } from "../../domain/storyOrder";
import { applicationsOf, faceOf, type Shot, shotInScene } from "../../domain/wantedAngles";
import { documents } from "../../store/day.svelte";
import { establishedOf } from "../../store/established.svelte";
import { allReady, recordsOf } from "../../store/live.svelte";
import type { Id } from "../../types";
import type { FindFacts } from "./find";

export const matchReady = (): boolean =>
  allReady("scene", "look", "character", "performer", "appliance", "copy", "application", "shoot_day", "production", "photo_guide", "verdict", "recipe", "material", "crew");

const present = <K extends "look" | "character" | "performer" | "appliance">(kind: K) => new Map(recordsOf(kind).list.map((row) => [row.id, row.document]));

export const findFacts = (): FindFacts => ({
  scenes: recordsOf("scene").list, looks: present("look"), characters: documents("character"), performers: documents("performer"), appliances: present("appliance"),
  copies: recordsOf("copy").list, applications: recordsOf("application").list,
});

/** The picture that stands for a look, in a scene where one is named: taken there, else the established one, else the last. */
export function pictureOf(look: Id, scene?: Id): Shot | undefined {
  const applications = recordsOf("application").list;
  const here = scene ? shotInScene(scene, look, applications) : undefined;
  if (here) return here;
  for (const row of [establishedOf(look), ...applicationsOf(look, applications)]) {
    const face = faceOf(row);
    if (face) return face;
  }
  return undefined;
}

export function around(look: Id, scene: Id | undefined): Neighbours {
  const character = recordsOf("look").get(look)?.document.character;
  return character && scene ? neighboursOf(scene, character, recordsOf("scene").list) : {};
}

/** The scenes a look is worn in, in story order. */
export function scenesOf(look: Id): Id[] {
  const character = recordsOf("look").get(look)?.document.character;
  return character ? storyOf(character, recordsOf("scene").list).filter((seen) => seen.look === look).map((seen) => seen.scene) : [];
}
