// How far an application is, told in the trade's words.

import type { ApplicationDocument, Moment } from "../types";

export type Stage = "not_started" | "in_the_chair" | "ready" | "on_camera" | "removed";

export const STAGE_WORDS: Record<Stage, string> = {
  not_started: "Not started", in_the_chair: "In the chair", ready: "Ready", on_camera: "On camera", removed: "Removed",
};

export const STAMPS = ["started_at", "ready_at", "on_camera_at", "removed_at"] as const;
export type Stamp = (typeof STAMPS)[number];
export const STAMP_WORDS: Record<Stamp, string> = { started_at: "Start", ready_at: "Ready", on_camera_at: "On camera", removed_at: "Removed" };

export function stageOf(sheet: Pick<ApplicationDocument, Stamp> | undefined): Stage {
  if (sheet?.removed_at) return "removed";
  if (sheet?.on_camera_at) return "on_camera";
  if (sheet?.ready_at) return "ready";
  return sheet?.started_at ? "in_the_chair" : "not_started";
}

/** The stamp the main button gives next, or null once removed. */
export function nextStamp(sheet: Pick<ApplicationDocument, Stamp>): Stamp | null {
  const next: Record<Stage, Stamp | null> = {
    not_started: "started_at", in_the_chair: "ready_at", ready: "on_camera_at", on_camera: "removed_at", removed: null,
  };
  return next[stageOf(sheet)];
}

/** The last stamp that was given, for "since". */
export const lastStamp = (sheet: Pick<ApplicationDocument, Stamp>): Moment | undefined =>
  sheet.removed_at ?? sheet.on_camera_at ?? sheet.ready_at ?? sheet.started_at;
