// What the server answers about the cover: aliases of what is made from its OpenAPI document, as in types.ts. Here null
// stands for what is not there.

import type { components } from "./api.generated";

type Schemas = components["schemas"];

export type CoverDay = Schemas["CoverDayShape"];
export type Reorder = Schemas["ReorderShape"];
export type ApplianceCover = Schemas["ApplianceCoverShape"];
export type CoverAnswer = Schemas["CoverAnswer"];

export type ReasonsAnswer = Schemas["CoverReasonsAnswer"];
export type WhatIfChange = Schemas["WhatIf"]["changes"][number];
export type WhatIfAnswer = Schemas["WhatIfAnswer"];
