// Who is signed in, on which production, in which role; kept on the phone, so that the app opens without a network.
//
//   session.ready          the phone's memory has been read
//   session.production     { id, name, role, crew } or null
//   session.can("copy")    whether this role writes that kind of record
//
// Signing in and out is in signing.ts.
// "Signed out" (the server forgot us) only stops sending: everything stays on the phone and can still be written.

import { db, type RecordRow } from "../db";
import { newId } from "../domain/id";
import type { Id, Kind, Role } from "../types";
import { api } from "./api";

export interface ProductionChoice { id: Id; name: string; role: Role; crew: Id }
export interface User { id: string | number; username: string; name: string }

export interface SessionAnswer {
  answer: "session";
  signed_in: boolean;
  csrf: string;
  user: User | null;
  may_create_productions: boolean;
  productions: ProductionChoice[];
}

interface Kept { user: User; productions: ProductionChoice[]; chosen: Id | null; mayCreate: boolean }

const WRITERS: Record<Kind, readonly Role[]> = {
  application: ["set_artist", "department_head"],
  copy: ["set_artist", "shop", "department_head"],
  material: ["set_artist", "shop", "department_head"],
  recipe: ["set_artist", "department_head"],
  performer: ["set_artist", "continuity", "department_head"],
  look: ["set_artist", "continuity", "department_head"],
  unit: ["continuity", "department_head"],
  character: ["continuity", "department_head"],
  scene: ["continuity", "department_head"],
  shoot_day: ["continuity", "department_head"],
  appliance: ["shop", "department_head"],
  mould: ["shop", "department_head"],
  cast_run: ["shop", "department_head"],
  // Set artists say that an order has arrived; the other steps are the shop's and the head's (domain/orderSteps.ts).
  order: ["set_artist", "shop", "department_head"],
  parcel: ["set_artist", "shop", "department_head"],
  count: ["set_artist", "shop", "department_head"],
  production: ["department_head"],
  crew: ["department_head"],
  conflict: ["set_artist", "continuity", "department_head"],
  verdict: ["continuity", "department_head"],
  photo_guide: ["set_artist", "continuity", "department_head"],
  colour_measurement: ["set_artist", "continuity", "department_head"],
};

const seesHealth = (role: Role | undefined): boolean => role === "set_artist" || role === "department_head";

class Session {
  ready = $state(false);
  user = $state.raw<User | null>(null);
  productions = $state.raw<ProductionChoice[]>([]);
  chosen = $state<Id | null>(null);
  mayCreate = $state(false);
  /** The server no longer knows us; nothing is sent until someone signs in again. */
  signedOut = $state(false);
  device: Id = "";

  get production(): ProductionChoice | null {
    return this.productions.find((one) => one.id === this.chosen) ?? null;
  }

  can(kind: Kind): boolean {
    return !!this.production && WRITERS[kind].includes(this.production.role);
  }

  /** Whether this role sees allergies, patch tests and skin notes. */
  get seesHealth(): boolean {
    return seesHealth(this.production?.role);
  }

  /** Whether this person wrote something, and all of such a record is on this phone and theirs to write. */
  mayGiveBack({ production, made_by, kind }: Pick<RecordRow, "production" | "made_by" | "kind">): boolean {
    // Of its own production: another may be chosen while this one is still being read.
    const member = this.productions.find((one) => one.id === production);
    if (!member || made_by !== member.crew) return false;
    const ofTheServer: readonly Kind[] = ["production", "crew", "conflict"];
    const whole = seesHealth(member.role) || kind !== "performer";
    return WRITERS[kind].includes(member.role) && whole && !ofTheServer.includes(kind);
  }

  /** Whether this person is signed in on this phone still: in another tab they may have signed out. */
  async isHere(): Promise<boolean> {
    return !!this.user && (await db.getMeta<Kept>("session"))?.user.id === this.user.id;
  }

  /** Reads the phone's memory; asks no network. */
  async open(): Promise<void> {
    let device = await db.getMeta<Id>("device");
    if (!device) await db.setMeta("device", (device = newId()));
    this.device = device;
    const kept = await db.getMeta<Kept>("session");
    if (kept) {
      this.user = kept.user;
      this.productions = kept.productions;
      this.chosen = kept.chosen;
      this.mayCreate = kept.mayCreate;
    }
    this.ready = true;
  }

  /** Asks the server who we are; true when signed in. Throws NoAnswer without a network. */
  async refresh(): Promise<boolean> {
    const before = this.user;
    const answer = await api.get<SessionAnswer>("/api/session", "session");
    // Who has signed out meanwhile stays so, also where the server has not heard of it.
    return (!before || (await this.isHere())) && this.take(answer);
  }

  /** Forgets who we are. */
  forget(): void {
    this.user = null;
    this.productions = [];
    this.chosen = null;
    this.signedOut = false;
  }

  async choose(id: Id): Promise<void> {
    this.chosen = id;
    await this.#keep();
  }

  async take(answer: SessionAnswer): Promise<boolean> {
    api.csrf = answer.csrf;
    this.signedOut = !answer.signed_in;
    if (!answer.signed_in || !answer.user) return false;
    const { user, productions, may_create_productions: mayCreate } = answer;
    const chosen = (productions.find((one) => one.id === this.chosen) ?? productions[0])?.id ?? null;
    // Kept first: who is not kept has signed out (`isHere`).
    await db.setMeta("session", { user, productions, chosen, mayCreate } satisfies Kept);
    this.user = user;
    this.productions = productions;
    this.mayCreate = mayCreate;
    if (!this.production) this.chosen = chosen;
    return true;
  }

  async #keep(): Promise<void> {
    if (!this.user) return;
    const kept: Kept = {
      user: $state.snapshot(this.user), productions: $state.snapshot(this.productions), chosen: this.chosen, mayCreate: this.mayCreate,
    };
    await db.setMeta("session", kept);
  }
}

export const session = new Session();
