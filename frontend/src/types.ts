// The documents of every kind of record, as the server defines them: aliases of what is made from its OpenAPI document
// (api.generated.ts, by `npm run types`). Use: `import type { CopyDocument } from "../types"`.
// A member that is absent has its default; null never stands in a document (in a patch it removes the member).

import type { components } from "./api.generated";

type Schemas = components["schemas"];
type NoNulls<T> = T extends (infer Item)[] ? NoNulls<Item>[] : T extends object ? { [Name in keyof T]: NoNulls<Exclude<T[Name], null>> } : T;
type Doc<Name extends keyof Schemas> = NoNulls<Schemas[Name]>;

export type Id = string;
/** ISO 8601 with the phone's offset from UTC. */
export type Moment = string;
/** "2026-11-25" */
export type Day = string;
/** "06:30" */
export type ClockTime = string;

export type Role = Schemas["Role"];
export type Grade = Schemas["Grade"];
export type Encapsulator = Schemas["Encapsulator"];
export type EdgeSolvent = Schemas["EdgeSolvent"];
export type CopyState = Schemas["CopyState"];
export type MaterialUse = Schemas["MaterialUse"];
export type MaterialUnit = Schemas["MaterialUnit"];
export type ColourUnit = Schemas["ColourUnit"];
export type ColouredPart = Schemas["ColouredPart"];
export type CavityResult = Schemas["CavityResult"];
export type Fault = Schemas["Fault"];
export type Angle = Schemas["Angle"];
export type PhotoMoment = Schemas["PhotoMoment"];
export type MediaType = Schemas["MediaType"];
export type PhotoFault = Schemas["PhotoFault"];
export type VerdictWord = Schemas["VerdictWord"];
export type CardSort = Schemas["CardSort"];
export type PatchRole = Schemas["PatchRole"];
export type PatchTestResult = Schemas["PatchTestResult"];
export type Outcome = Schemas["Outcome"];
export type OrderState = Schemas["OrderState"];
export type Arrived = Schemas["Arrived"];

export type ProductionDocument = Doc<"ProductionDocument">;
export type UnitDocument = Doc<"UnitDocument">;
export type CharacterDocument = Doc<"CharacterDocument">;
export type PerformerDocument = Doc<"PerformerDocument">;
export type Allergy = Doc<"Allergy">;
export type PatchTest = Doc<"PatchTest">;
export type PatchTestReading = Doc<"PatchTestReading">;
export type LookDocument = Doc<"LookDocument">;
export type SceneDocument = Doc<"SceneDocument">;
export type Worn = Doc<"Worn">;
export type ShootDayDocument = Doc<"ShootDayDocument">;
export type PlannedScene = Doc<"PlannedScene">;
export type Call = Doc<"Call">;
export type ApplianceDocument = Doc<"ApplianceDocument">;
export type MouldDocument = Doc<"MouldDocument">;
export type CastRunDocument = Doc<"CastRunDocument">;
export type Pour = Doc<"Pour">;
export type LotUsed = Doc<"LotUsed">;
export type Timer = Doc<"Timer">;
export type Cavity = Doc<"Cavity">;
export type IntrinsicColour = Doc<"IntrinsicColour">;
export type CopyDocument = Doc<"CopyDocument">;
export type OrderDocument = Doc<"OrderDocument">;
export type OrderQuestion = Doc<"OrderQuestion">;
export type ParcelDocument = Doc<"ParcelDocument">;
export type ParcelCopy = Doc<"ParcelCopy">;
export type CountDocument = Doc<"CountDocument">;
export type MaterialDocument = Doc<"MaterialDocument">;
export type RecipeDocument = Doc<"RecipeDocument">;
export type RecipeStep = Doc<"RecipeStep">;
export type ApplicationDocument = Doc<"ApplicationDocument">;
export type CopyUse = Doc<"CopyUse">;
export type AdhesiveUse = Doc<"AdhesiveUse">;
export type TouchUp = Doc<"TouchUp">;
export type Break = Doc<"Break">;
export type Photo = Doc<"Photo">;
export type Override = Doc<"Override">;
export type VerdictDocument = Doc<"VerdictDocument">;
export type Pin = Doc<"Pin">;
export type PhotoGuideDocument = Doc<"PhotoGuideDocument">;
export type Point = Doc<"Point">;
export type Spot = Doc<"Spot">;
export type Card = Doc<"Card">;
export type MeasuredPhoto = Doc<"MeasuredPhoto">;
export type Patch = Doc<"Patch">;
export type ColourMeasurementDocument = Doc<"ColourMeasurementDocument">;
export type CrewDocument = Doc<"CrewDocument">;
export type CollidingField = Doc<"CollidingField">;
export type ConflictDocument = Omit<Doc<"ConflictDocument">, "about_kind"> & { about_kind: Kind };

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
  order: OrderDocument;
  parcel: ParcelDocument;
  count: CountDocument;
  conflict: ConflictDocument;
  verdict: VerdictDocument;
  photo_guide: PhotoGuideDocument;
  colour_measurement: ColourMeasurementDocument;
  crew: CrewDocument;
}
export type Kind = keyof Documents;

/** What the server has measured of two photos. */
export type Colour = NoNulls<Schemas["ColourShape"]>;

/** What the server works out beside a record. */
export interface Derived {
  warnings?: { key: string; code: string; words: string; overridden: boolean }[];
  files?: Record<string, "awaited" | "stored" | "unreadable">;
  /** Why no colour can be measured in a photo, by its sha256, to be put behind "it". */
  not_measurable?: Record<string, string>;
  flags?: string[];
  state?: CopyState;
  applications?: Id[];
  /** Of a lot: what cast runs and applications have left of it, in its unit. */
  left?: { amount: number };
  colour?: Colour;
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
