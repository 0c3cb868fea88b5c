// What the server answers about deliveries; see answers.ts.

import type { components } from "../../api.generated";

type Schemas = components["schemas"];

export type DestinationsAnswer = Schemas["DestinationsAnswer"];
export type DeliveriesAnswer = Schemas["DeliveriesAnswer"];
export type PushAnswer = Schemas["PushAnswer"];
export type CalendarAnswer = Schemas["CalendarAnswer"];
