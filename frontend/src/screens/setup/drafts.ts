// What is written in a form and not saved yet outlives leaving the page: it is there again when the form is opened,
// until the app is closed.

import type { Draft } from "./fields";

export interface Unsaved { before: Draft; draft: Draft }
const kept = new Map<string, Unsaved>();

export const takeDraft = (key: string): Unsaved | undefined => {
  const found = kept.get(key);
  kept.delete(key);
  return found;
};
export const keepDraft = (key: string, unsaved: Unsaved): void => void kept.set(key, unsaved);
