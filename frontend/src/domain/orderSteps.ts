// What can be said of an order next, and by whom. The server holds the same rule.

import type { OrderState, Role } from "../types";

export interface Step { to: OrderState; words: string; sort: "main" | "plain" | "quiet" }

const MAKERS: readonly Role[] = ["shop", "department_head"];
const RECEIVERS: readonly Role[] = ["set_artist", "department_head"];

/** The states in the order in which an order goes through them. */
export const TRACK = ["asked_for", "taken_on", "casting", "sent", "arrived"] as const satisfies readonly OrderState[];

export function stepsFor(state: OrderState, role: Role | undefined): Step[] {
  if (!role) return [];
  const makes = MAKERS.includes(role);
  const steps: Step[] = [];
  if (makes && state === "asked_for") steps.push({ to: "taken_on", words: "Take it on", sort: "main" });
  if (makes && state === "taken_on") steps.push({ to: "casting", words: "Start casting", sort: "main" }, { to: "asked_for", words: "Not taken on after all", sort: "quiet" });
  if (makes && state === "casting") steps.push({ to: "sent", words: "All of it is sent", sort: "plain" });
  if (RECEIVERS.includes(role) && state === "sent") steps.push({ to: "arrived", words: "All of it has arrived", sort: "plain" });
  if (role === "department_head" && state !== "arrived" && state !== "called_off" && state !== "sent") steps.push({ to: "called_off", words: "Call it off", sort: "quiet" });
  return steps;
}

/** Whether this role answers what is asked of an order that is under way. */
export const mayAnswer = (role: Role | undefined): boolean => !!role && MAKERS.includes(role);
