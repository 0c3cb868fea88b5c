// One round of sending and pulling, which the engine has run: all that is only needed with a network. Its part of the app
// is loaded when the app has opened.

import { db } from "../db";
import { hold } from "../update.svelte";
import { api, NoAnswer } from "./api";
import { sendFiles } from "./files";
import { pull } from "./pull";
import { type SendContext, type Stop, sendEntries } from "./send";
import { trimSent } from "./sentPhotos";
import { session } from "./session.svelte";

let trimmed = false;

export async function round(): Promise<Stop> {
  const context: SendContext = {
    db, api, device: session.device, renew: () => session.refresh(), mayGiveBack: (written) => session.mayGiveBack(written), isHere: () => session.isHere(),
  };
  if (!(await session.isHere())) {
    session.forget();
    return "signed_out";
  }
  // Once each time the app is opened: their days pass also while nothing is sent.
  if (!trimmed) await trimSent(db, Date.now());
  trimmed = true;
  if (!api.csrf) {
    try {
      if (!(await session.refresh())) return "signed_out";
    } catch (error) {
      return error instanceof NoAnswer ? error.why : "server";
    }
  }
  const waiting = new Set((await db.outbox.where("state").equals("waiting").toArray()).map((row) => row.production));
  for (const row of await db.photoIndex.toArray()) waiting.add(row.production);
  const chosen = session.production?.id;
  if (chosen) waiting.add(chosen);
  let worst: Stop = "done";
  for (const production of waiting) {
    const entries = await sendEntries(context, production);
    if (entries.stop !== "done" && entries.stop !== "not_allowed") return entries.stop;
    if (production === chosen) {
      const changes = await pull(context, production);
      if (changes.stop !== "done") worst = changes.stop;
      if (changes.stop === "network" || changes.stop === "signed_out") return changes.stop;
    }
    const release = hold("a photo is being sent");
    try {
      const files = await sendFiles(context, production);
      if (files.stop !== "done") return files.stop;
    } finally {
      release();
    }
    if (entries.stop !== "done") worst = entries.stop;
  }
  return worst;
}
