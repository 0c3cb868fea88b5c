// What the server answers about the cover: aliases of what is made from its OpenAPI document, as in types.ts. Here null
// stands for what is not there.

import type { components } from "./api.generated";
import type { Day, Id, Outcome } from "./types";

type Schemas = components["schemas"];

export type CoverDay = Schemas["CoverDayShape"];
export type Reorder = Schemas["ReorderShape"];
export type ApplianceCover = Schemas["ApplianceCoverShape"];
export type CoverAnswer = Schemas["CoverAnswer"];

export interface ReasonsAnswer {
  answer: "cover_reasons";
  days: { date: Day; applications: { performer: Id; look: Id; scenes: Id[]; why: string; copies: number; starts_at: number; ends_at: number }[] }[];
  log: { application: Id; date: Day; performer: Id; look: Id; copy: Id; outcome: Outcome; why: string | null }[];
  supply: { place: "on_set" | "in_transit" | "shop" | "run" | "set_aside"; copies: number; on: Day | null; use_by: Day | null; serials: string[]; scene: Id | null; cast_run: Id | null }[];
  fixes: { remedy: string; enough: boolean; p_covered: number; copies: number; moved: Day | null; to: Day | null; words: string }[];
}

export type WhatIfChange =
  | { change: "move_shoot_day"; shoot_day: Id; date: Day }
  | { change: "add_shoot_day"; date: Day; unit: Id; crew_call: string; wrap: string; scenes: Id[] }
  | { change: "reshoot"; scene: Id; date: Day }
  | { change: "lose_copies"; appliance: Id; copies: number }
  | { change: "target"; target: number };
export interface WhatIfAnswer { answer: "what_if"; today: ApplianceCover[]; then: ApplianceCover[]; words: string[] }
