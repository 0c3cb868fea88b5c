// Every kind of record that is set up, in the order in which one fills them in.

import type { Kind } from "../../../types";
import type { KindForm } from "../fields";
import { character, performer, unit } from "./people";
import { appliance, look, material } from "./pieces";
import { production } from "./production";
import { cast_run, copy, mould } from "./stock";
import { recipe, scene, shoot_day } from "./story";

const ALL = [production, unit, performer, character, appliance, look, mould, cast_run, copy, material, recipe, scene, shoot_day] as unknown as KindForm[];

export const forms: readonly KindForm[] = ALL;
export const formOf = (kind: string | undefined): KindForm | undefined => ALL.find((form) => form.kind === (kind as Kind));
