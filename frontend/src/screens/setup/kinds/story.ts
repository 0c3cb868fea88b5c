import { addDays, dayIn, dayWords } from "../../../domain/moment";
import { optionsOf, words } from "../../../domain/words";
import { recordsOf, zone } from "../../../store/live.svelte";
import type { Day, Id, RecipeStep, ShootDayDocument, Worn } from "../../../types";
import { eighthsWords } from "../eighths";
import type { Draft, KindForm } from "../fields";
import { nameOf, optionsFor } from "../names";
import Calls from "../parts/Calls.svelte";
import PageEighths from "../parts/PageEighths.svelte";
import SceneOrder from "../parts/SceneOrder.svelte";
import Steps from "../parts/Steps.svelte";
import WornList from "../parts/WornList.svelte";
import RecipeShown from "../RecipeShown.svelte";
import { compareScenes, inStoryOrder } from "../../../domain/storyOrder";

export const scene: KindForm<"scene"> = {
  kind: "scene", many: "Scenes", one: "scene",
  about: "With the day of the story, and who wears which look.",
  defaults: { position: 0, page_eighths: 0, worn: [] },
  fresh: () => {
    const last = inStoryOrder(recordsOf("scene").list).at(-1)?.document;
    return last ? { story_day: last.story_day, position: (last.position ?? 0) + 1 } : { story_day: 1 };
  },
  fields: [
    { sort: "text", name: "number", label: "Number", max: 20, required: true, capitals: "characters", hint: "As in the script: 42, 42A, A42" },
    { sort: "part", name: "worn", label: "Who is in it", part: WornList, empty: () => [] },
    { sort: "number", name: "story_day", label: "Story day", min: -10_000, max: 10_000, hint: "The day in the story, not the date of shooting. A flashback may be below zero." },
    { sort: "number", name: "position", label: "Place in the story", min: 0, max: 100_000, hint: "Lowest first within a story day." },
    { sort: "choice", name: "interior_exterior", label: "Interior or exterior", options: () => optionsOf(words.interior_exterior) },
    { sort: "choice", name: "day_night", label: "Light", options: () => optionsOf(words.day_night) },
    { sort: "part", name: "page_eighths", label: "Length in the script", part: PageEighths, empty: () => 0 },
    { sort: "text", name: "synopsis", label: "What happens", max: 5000, lines: 3 },
  ],
  check: (draft, id) => {
    const errors: Record<string, string> = {};
    const number = String(draft.number ?? "").trim();
    if (recordsOf("scene").list.some((other) => other.id !== id && other.document.number === number)) errors.number = `There is a scene ${number} already`;
    if ((draft.worn as Partial<Worn>[]).some((worn) => !worn.character)) errors.worn = "Choose a character for each, or take the line out";
    return errors;
  },
  order: (one, other) => compareScenes(one.document, other.document),
  group: ({ document }) => (document.story_day === undefined ? "Story day not known" : `Story day ${document.story_day}`),
  second: ({ document }) =>
    [
      document.interior_exterior ? words.interior_exterior[document.interior_exterior] : "", document.day_night ? words.day_night[document.day_night] : "",
      document.page_eighths ? eighthsWords(document.page_eighths) : "", (document.worn ?? []).map((worn) => nameOf("character", worn.character)).join(", "),
    ].filter(Boolean).join(" · "),
};

export const shoot_day: KindForm<"shoot_day"> = {
  kind: "shoot_day", many: "Shoot days", one: "shoot day",
  about: "A date with a unit, its call and wrap, and the scenes in the order they are shot.",
  defaults: { scenes: [], calls: [] },
  fresh: () => {
    const last = [...recordsOf("shoot_day").list].sort((one, other) => one.document.date.localeCompare(other.document.date)).at(-1)?.document;
    return {
      date: last ? addDays(last.date, 1) : dayIn(zone()), crew_call: last?.crew_call ?? "07:00", wrap: last?.wrap ?? "18:00",
      unit: last?.unit ?? (recordsOf("unit").list.length === 1 ? recordsOf("unit").list[0]!.id : undefined),
    };
  },
  fields: [
    { sort: "date", name: "date", label: "Date", required: true },
    { sort: "pick", name: "unit", label: "Unit", required: true, of: "unit", options: (draft) => optionsFor("unit", draft.unit) },
    { sort: "time", name: "crew_call", label: "Crew call", required: true },
    { sort: "time", name: "wrap", label: "Planned wrap", required: true, hint: (draft) => (draft.wrap && draft.crew_call && String(draft.wrap) <= String(draft.crew_call) ? "The next morning." : undefined) },
    { sort: "part", name: "scenes", label: "Scenes, in order", part: SceneOrder, empty: () => [] },
    { sort: "part", name: "calls", label: "Calls", part: Calls, empty: () => [], hint: "When a performer must arrive." },
    { sort: "text", name: "note", label: "Note", max: 5000, lines: 3 },
  ],
  check: (draft, id) => checkShootDay(draft, id),
  // What is to come, the next first; then what was shot, the last first.
  order: (one, other) => {
    const today = dayIn(zone());
    const shot = Number(one.document.date < today) - Number(other.document.date < today);
    return shot || (one.document.date < today ? -1 : 1) * one.document.date.localeCompare(other.document.date);
  },
  group: ({ document }) => (document.date < dayIn(zone()) ? "Shot" : "To come"),
  second: ({ document }) => [`Call ${document.crew_call}, wrap ${document.wrap}`, (document.scenes ?? []).map((planned) => sceneNumber(planned.scene)).join(", ") || "No scene yet"].join(" · "),
};

const sceneNumber = (id: Id): string => recordsOf("scene").get(id)?.document.number ?? "?";

function checkShootDay(draft: Draft, id: Id | null): Record<string, string> {
  const errors: Record<string, string> = {};
  const twin = recordsOf("shoot_day").list.find((other) => other.id !== id && other.document.date === draft.date && other.document.unit === draft.unit);
  if (twin) errors.date = `${nameOf("unit", draft.unit as Id)} has a shoot day on ${dayWords(draft.date as Day)} already`;
  const scenes = (draft.scenes ?? []) as NonNullable<ShootDayDocument["scenes"]>;
  if (scenes.some((planned) => planned.minutes !== undefined && (planned.minutes < 1 || planned.minutes > 1440))) errors.scenes = "A planned length is from 1 min to 24 h";
  const calls = (draft.calls ?? []) as { performer?: Id; time?: string }[];
  if (calls.some((call) => !call.performer || !call.time)) errors.calls = "Each call needs a performer and a time";
  return errors;
}

export const recipe: KindForm<"recipe"> = {
  kind: "recipe", many: "Paint recipes", one: "recipe",
  about: "The layers of paint of a look. A version never changes: a change is a new version.",
  defaults: { version: 1, steps: [] },
  fresh: (query) => {
    const from = recordsOf("recipe").get(query.get("from"));
    if (!from) return { steps: [{ zone: "", mix: "" }] };
    return { ...JSON.parse(JSON.stringify(from.document)), version: nextVersion(from.document.name, from.document.look), previous: from.id };
  },
  fields: [
    { sort: "text", name: "name", label: "Name", max: 200, required: true },
    { sort: "pick", name: "look", label: "Look", required: true, of: "look", options: (draft) => optionsFor("look", draft.look) },
    { sort: "number", name: "version", label: "Version", min: 1, max: 10_000, required: true },
    { sort: "part", name: "steps", label: "Layers, in order", part: Steps, empty: () => [] },
    { sort: "text", name: "note", label: "Note", max: 5000, lines: 3 },
  ],
  check: (draft) => {
    const steps = draft.steps as Partial<RecipeStep>[];
    const errors: Record<string, string> = {};
    if (!steps.length) errors.steps = "At least one layer";
    else if (steps.some((step) => !step.zone?.trim() || !step.mix?.trim())) errors.steps = "Each layer needs a zone and what is mixed; take out the empty one";
    if (versionsOf(String(draft.name ?? "").trim(), draft.look as Id).includes(draft.version as number)) errors.version = "This version is there already";
    return errors;
  },
  follow: (draft, name) => {
    if (name === "name" || name === "look") draft.version = nextVersion(String(draft.name ?? "").trim(), draft.look as Id);
  },
  order: (one, other) => one.document.name.localeCompare(other.document.name) || (other.document.version ?? 1) - (one.document.version ?? 1),
  group: ({ document }) => nameOf("look", document.look),
  second: ({ document }) => `${document.steps.length} ${document.steps.length === 1 ? "layer" : "layers"}`,
  fixed: RecipeShown,
};

const versionsOf = (name: string, lookId: Id): number[] =>
  recordsOf("recipe").list.filter(({ document }) => document.name === name && document.look === lookId).map(({ document }) => document.version ?? 1);

const nextVersion = (name: string, lookId: Id): number => Math.max(0, ...versionsOf(name, lookId)) + 1;
