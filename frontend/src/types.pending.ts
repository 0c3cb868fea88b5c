// What the server's OpenAPI document does not hold yet. Goes once it does.

import type { CopyState, Day, Grade, Id } from "./types";

export type OrderState = "asked_for" | "taken_on" | "made" | "called_off";
export interface OrderDocument {
  appliance: Id; mould: Id; copies: number; pours: number; needed_on: Day; latest_start?: Day; possible: boolean; p_covered_now: number; best_p_covered: number;
  still_short?: Day; why: string; state?: OrderState; note?: string;
}
export interface Fields {
  production: { transport_days?: number; weekdays_off?: string[]; dates_off?: Day[]; pour_confidence?: number; yield_prior_good?: number; yield_prior_rejected?: number };
  look: { grades?: Record<Id, Grade> };
  mould: { cycles_per_day?: number };
  copy: { set_aside_for?: Id };
}
export type Outcome = "good" | "spoiled" | "lost";

export interface CoverDay {
  date: Day; applications: number; copies_needed: number; arrivals: number;
  /** null where the mean is infinite. */
  expected_left: number | null;
  /** null where the figure is out of all reason. */
  left_p10: number | null;
  left_p90: number | null;
  p_short_by: number;
}
export interface Reorder { copies: number; pours: number; latest_start: Day | null; possible: boolean; best_p_covered: number; still_short: Day | null; schedule: { date: Day; pours: number }[] }
export interface ApplianceCover {
  appliance: Id; spares_now: number; on_set: number; in_transit: number; due: number; undated: number; set_aside: number;
  log: { good: number; spoiled: number; lost: number };
  prior: [number, number];
  rests_on: string;
  pooling: { source: string; explanation: string; prior: [number, number] };
  rates: { success: number; spoiled: number; lost: number };
  exact: boolean;
  left_out: number;
  grades: { grade: Grade; p_short_by_end: number }[] | null;
  p_covered: number;
  first_day_at_risk: Day | null;
  days: CoverDay[];
  /** null: no mould casts it. */
  reorder: Reorder | null;
  order: Id | null;
}
export interface CoverAnswer { answer: "cover"; worked_out_at: string; target: number; appliances: ApplianceCover[] }

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
export type { CopyState };
