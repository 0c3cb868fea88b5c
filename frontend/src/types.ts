// The documents of every kind of record, as the server defines them. Use: `import type { CopyDocument } from "../types"`.
// A member that is absent has its default; null never stands in a document (in a patch it removes the member).

export type Id = string;
/** ISO 8601 with the phone's offset from UTC. */
export type Moment = string;
/** "2026-11-25" */
export type Day = string;
/** "06:30" */
export type ClockTime = string;

export type Role = "set_artist" | "continuity" | "shop" | "department_head";
export type Grade = "hero" | "mid" | "background";
export type Encapsulator = "alcohol_soluble" | "acetone_soluble" | "pressed_acrylic" | "foam_latex" | "gelatine";
export type EdgeSolvent = "alcohol" | "acetone" | "blending_paste" | "warm_water" | "witch_hazel";
export type CopyState = "shop" | "in_transit" | "on_set" | "applied" | "used_up" | "damaged" | "lost";
export type MaterialUse = "adhesive" | "edge_solvent" | "remover" | "paint" | "sealer";
export type Angle = "front" | "three_quarter_left" | "three_quarter_right" | "profile_left" | "profile_right" | "close_up";
export type PhotoMoment = "before" | "applied" | "on_set" | "after" | "removed";
export type MediaType = "image/jpeg" | "image/png" | "image/webp";
export type PatchTestResult = "no_reaction" | "doubtful" | "reaction";

export interface ProductionDocument {
  name: string;
  time_zone?: string;
  cover_target?: number;
  prior_good?: number;
  prior_spoiled?: number;
}
export interface UnitDocument { name: string }
export interface CharacterDocument { name: string; performer?: Id }
export interface LookDocument {
  character: Id;
  name: string;
  progression?: string;
  position?: number;
  appliances?: Id[];
  chair_minutes?: number;
  note?: string;
}
export interface Worn { character: Id; look?: Id; performer?: Id }
export interface SceneDocument {
  number: string;
  story_day?: number;
  position?: number;
  interior_exterior?: "interior" | "exterior" | "both";
  day_night?: "day" | "night" | "dawn" | "dusk";
  page_eighths?: number;
  synopsis?: string;
  worn?: Worn[];
}
export interface PlannedScene { scene: Id; minutes?: number; taken_off_after?: Id[] }
export interface Call { performer: Id; time: ClockTime }
export interface ShootDayDocument {
  date: Day;
  unit: Id;
  crew_call: ClockTime;
  wrap: ClockTime;
  scenes?: PlannedScene[];
  calls?: Call[];
  note?: string;
}
export interface Allergy { substance: string; note?: string }
export interface PatchTestReading { read_on: Day; result: PatchTestResult; note?: string }
export interface PatchTest { material: Id; applied_on: Day; readings?: Record<Id, PatchTestReading> }
export interface PerformerDocument {
  name: string;
  doubles?: Id;
  note?: string;
  allergies?: Record<Id, Allergy>;
  patch_tests?: Record<Id, PatchTest>;
}
export interface CrewDocument { name: string; username: string; role: Role; active?: boolean }
export interface ApplianceDocument {
  name: string;
  performer?: Id;
  grade?: Grade;
  encapsulator: Encapsulator;
  edge_solvent: EdgeSolvent;
  copies_per_application?: number;
  wear_limit_minutes?: number;
  shelf_life_days?: number;
  note?: string;
}
export interface MouldDocument { name: string; appliances: Id[]; cavities?: number; cycle_minutes: number; note?: string }
export interface CastRunDocument {
  mould: Id;
  appliance: Id;
  cast_on: Day;
  due_on: Day;
  copies_planned: number;
  good?: number;
  rejected?: Record<Id, { copies: number; why: string }>;
  note?: string;
}
export interface CopyDocument {
  appliance: Id;
  serial: string;
  grade: Grade;
  state?: CopyState;
  cast_run?: Id;
  cast_on?: Day;
  use_by?: Day;
  expected_on?: Day;
  note?: string;
}
export interface MaterialDocument {
  name: string;
  use: MaterialUse;
  solvent?: EdgeSolvent;
  lot?: string;
  expires_on?: Day;
  contains?: string[];
  note?: string;
}
export interface RecipeStep { zone: string; paint?: Id; mix: string; tool?: string }
export interface RecipeDocument { name: string; look: Id; version?: number; previous?: Id; steps: RecipeStep[]; note?: string }
export interface CopyUse { copy_used: Id; outcome?: "good" | "spoiled"; why?: string }
export interface AdhesiveUse { zone: string; material: Id }
export interface TouchUp { at: Moment; reason: string }
export interface Break { started_at: Moment; ended_at?: Moment }
export interface Photo {
  sha256: string;
  size: number;
  media_type: MediaType;
  angle: Angle;
  moment: PhotoMoment;
  scene?: Id;
  story_day?: number;
  taken_at: Moment;
}
export interface Override { words: string; at: Moment; why?: string }
export interface ApplicationDocument {
  performer: Id;
  look: Id;
  date: Day;
  artist: Id;
  scenes?: Id[];
  copies?: Record<Id, CopyUse>;
  adhesives?: Record<Id, AdhesiveUse>;
  edge_solvent?: Id;
  recipe?: Id;
  recipe_differences?: string;
  sealer?: Id;
  started_at?: Moment;
  ready_at?: Moment;
  on_camera_at?: Moment;
  touch_ups?: Record<Id, TouchUp>;
  breaks?: Record<Id, Break>;
  removed_at?: Moment;
  remover?: Id;
  copy_after?: string;
  skin_after?: string;
  photos?: Record<Id, Photo>;
  overridden?: Record<string, Override>;
  health_overridden?: Record<string, Override>;
  note?: string;
}
export interface CollidingField { path: string[]; kept?: unknown; offered?: unknown }
export interface ConflictDocument {
  sort: "copy_applied_twice" | "stale_edit" | "edit_of_withdrawn" | "recipe_version_twice";
  about_kind: Kind;
  about: Id;
  other?: Id;
  copy_used?: Id;
  entry: Id;
  fields_collided?: CollidingField[];
  health_fields_collided?: CollidingField[];
  settled?: { words: string; by: Id };
}

export interface Documents {
  production: ProductionDocument;
  unit: UnitDocument;
  character: CharacterDocument;
  performer: PerformerDocument;
  look: LookDocument;
  scene: SceneDocument;
  shoot_day: ShootDayDocument;
  appliance: ApplianceDocument;
  mould: MouldDocument;
  cast_run: CastRunDocument;
  copy: CopyDocument;
  material: MaterialDocument;
  recipe: RecipeDocument;
  application: ApplicationDocument;
  conflict: ConflictDocument;
  crew: CrewDocument;
}
export type Kind = keyof Documents;

/** What the server works out beside a record. */
export interface Derived {
  warnings?: { key: string; code: string; words: string; overridden: boolean }[];
  files?: Record<string, "awaited" | "stored" | "unreadable">;
  flags?: string[];
  state?: CopyState;
  applications?: Id[];
}

/** A record as the screens see it: the server's document with what is not sent yet laid over it. */
export interface Rec<K extends Kind = Kind> {
  production: Id;
  id: Id;
  kind: K;
  document: Documents[K];
  derived: Derived;
  withdrawn: boolean;
  revision: Id | null;
  made_by: Id;
  happened_at: Moment;
  /** Absent until the server has it. */
  received_at?: Moment;
}

export type JsonObject = { [key: string]: unknown };
