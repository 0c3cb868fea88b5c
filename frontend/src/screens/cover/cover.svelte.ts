// The cover as the server last worked it out, kept on the phone, so that it is there without a network.

import { db } from "../../db";
import { api, troubleWords } from "../../sync/api";
import type { Id } from "../../types";
import type { CoverAnswer } from "../../answers";

class CoverNow {
  production = $state<Id | null>(null);
  answer = $state.raw<CoverAnswer | null>(null);
  problem = $state<string | null>(null);
  busy = $state(false);
  /** The phone's memory has been read. */
  ready = $state(false);
  askedAt = 0;

  async load(production: Id): Promise<void> {
    if (this.production !== production) {
      this.production = production;
      this.answer = null;
      this.ready = false;
      const kept = await db.getMeta<CoverAnswer>(`cover:${production}`);
      if (this.production !== production) return;
      // An older version of the app kept answers without what an order needs: those are not shown.
      if (kept?.appliances.every((one) => one.rests_on !== undefined)) this.answer ??= kept;
      this.ready = true;
    }
    await this.ask(production);
  }

  async ask(production: Id): Promise<void> {
    if (this.busy) return;
    this.busy = true;
    this.askedAt = Date.now();
    try {
      const answer = await api.get<CoverAnswer>(`/api/productions/${production}/cover`, "cover");
      await db.setMeta(`cover:${production}`, answer);
      if (this.production === production) this.answer = answer;
      this.problem = null;
    } catch (error) {
      this.problem = troubleWords(error);
    } finally {
      this.busy = false;
    }
  }
}

export const coverNow = new CoverNow();
