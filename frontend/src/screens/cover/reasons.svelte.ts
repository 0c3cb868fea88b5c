// The reasons behind the numbers of one appliance. The server has them; they are not kept on the phone.

import { api, troubleWords } from "../../sync/api";
import type { Id } from "../../types";
import type { ReasonsAnswer } from "../../answers";

/** What a number opens to. */
export type Asked =
  | { sort: "day"; date: string }
  | { sort: "log"; outcome: "good" | "spoiled" | "lost" | "all" }
  | { sort: "extra" }
  | { sort: "supply"; title: string; places: ReasonsAnswer["supply"][number]["place"][] };

export class Reasons {
  answer = $state.raw<ReasonsAnswer | null>(null);
  problem = $state<string | null>(null);
  busy = $state(false);

  constructor(readonly production: Id, readonly appliance: Id) {}

  async ask(): Promise<void> {
    if (this.busy) return;
    this.busy = true;
    try {
      this.answer = await api.get<ReasonsAnswer>(`/api/productions/${this.production}/cover/${this.appliance}/reasons`, "cover_reasons");
      this.problem = null;
    } catch (error) {
      this.problem = troubleWords(error, "The reasons need the network, and there is none now.");
    } finally {
      this.busy = false;
    }
  }
}
