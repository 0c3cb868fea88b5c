// Decides when to send and to pull, and knows how things stand. Start it once with `engine.start()`.
//
//   engine.notSent     entries and photos still to go; null until they have been counted
//   engine.unsent      that and what was refused for good, or null; unsentWords(engine.unsent) says it
//   engine.sending     a round is running                      engine.problem     why nothing goes, in words, or null
//   engine.kick()      something was written: send soon        engine.sendNow()   the button: no waiting
//
// It sends on load, when the network comes back, when the app is looked at again, after every save, and on a timer
// while it is looked at. Background Sync is not relied on: iOS has none.

import { db, isOutOfRoom, withRoom } from "../db";
import { backoff, isDue } from "./backoff";
import type { Stop } from "./send";
import { session } from "./session.svelte";
import { type UnsentCounts, watchUnsent } from "./unsent";

const EVERY = 15_000;
const PROBLEM: Record<Exclude<Stop, "done">, string> = {
  network: "No network. It goes by itself when there is one.",
  odd: "This network answers for itself: it may want you to sign in to it first.",
  signed_out: "Signed out. Sign in again to send; nothing is lost.",
  server: "The server has trouble. It is tried again by itself.",
  not_allowed: "The server does not let you into this production. Everything stays on this phone.",
};
const NOT_LOADED = "The part of the app that sends could not be loaded. Everything stays on this phone; open the app again when there is a network.";
const NO_ROOM = "This phone has no room left, not even to note what is being sent. Make room on it; what was written stays.";

class Engine {
  sending = $state(false);
  problem = $state<string | null>(null);
  stop = $state<Stop>("done");
  unsent = $state.raw<UnsentCounts | null>(null);
  lastHeard = $state<number | null>(null);
  /** The browser's promise not to clear the store: true, false, or null where it cannot be asked. */
  persisted = $state<boolean | null>(null);

  #again = false;
  #failures = 0;
  #notBefore = 0;
  #timer: ReturnType<typeof setTimeout> | undefined;

  get notSent(): number | null {
    return this.unsent && this.unsent.notSent;
  }

  start(): void {
    watchUnsent(db, (counts) => (this.unsent = counts));
    addEventListener("online", () => void this.sendNow());
    document.addEventListener("visibilitychange", () => {
      if (document.visibilityState === "visible") void this.sendNow();
    });
    setInterval(() => {
      if (document.visibilityState === "visible" && isDue(this.#notBefore, Date.now())) void this.#run();
    }, EVERY);
    void this.#askToPersist();
    void this.sendNow();
  }

  /** Soon, so that a few changes in a row go together. */
  kick(): void {
    clearTimeout(this.#timer);
    this.#timer = setTimeout(() => {
      if (isDue(this.#notBefore, Date.now())) void this.#run();
    }, 700);
  }

  async sendNow(): Promise<void> {
    this.#notBefore = 0;
    try {
      await db.transaction("rw", db.outbox, db.photoIndex, async () => {
        await db.outbox.where("state").equals("waiting").modify({ next_at: 0 });
        await db.photoIndex.toCollection().modify({ next_at: 0 });
      });
    } catch (error) {
      // On a full phone what waits goes when its time comes; whether anything can go, the round finds out.
      if (!isOutOfRoom(error)) throw error;
    }
    await this.#run();
  }

  async #run(): Promise<void> {
    if (!session.user) return;
    if (this.sending) {
      this.#again = true;
      return;
    }
    this.sending = true;
    try {
      // Nothing that keeps what is written waits for this. Once it is here it stays, whatever becomes of the server's version.
      const sending = await import("./round").catch(() => null);
      if (!sending) {
        this.problem = NOT_LOADED;
        return;
      }
      do {
        this.#again = false;
        // One tab at a time where the browser can arrange it; where it cannot, a repeat is harmless.
        const round = (): Promise<Stop> => withRoom(db, sending.round);
        const stop = navigator.locks ? await navigator.locks.request("continuity-send", round) : await round();
        this.#note(stop);
      } while (this.#again && this.stop === "done");
    } catch (error) {
      if (!isOutOfRoom(error)) throw error;
      this.problem = NO_ROOM;
    } finally {
      this.sending = false;
    }
  }

  #note(stop: Stop): void {
    this.stop = stop;
    this.problem = stop === "done" ? null : PROBLEM[stop];
    session.signedOut = stop === "signed_out";
    if (stop === "done") {
      this.#failures = 0;
      this.#notBefore = 0;
      this.lastHeard = Date.now();
    } else if (stop !== "signed_out") {
      this.#failures += 1;
      this.#notBefore = Date.now() + backoff(this.#failures);
    }
  }

  async #askToPersist(): Promise<void> {
    if (!navigator.storage?.persist) return;
    this.persisted = (await navigator.storage.persisted()) || (await navigator.storage.persist());
  }
}

export const engine = new Engine();
