// The places of a measurement while they are being tapped, in the order they are asked for.

import { newId } from "../../../domain/id";
import type { ColourMeasurementDocument, Id, Patch, Spot } from "../../../types";
import type { Points } from "../compare/comparison.svelte";

export type Which = "then" | "now";
export type CardSort = ColourMeasurementDocument["then"]["card"]["sort"];
export interface CardDraft { sort: CardSort; spot: Spot | null; corners: { x: number; y: number }[] }
export interface PatchDraft { id: Id; role: Patch["role"]; name: string; then: Spot | null; now: Spot | null }
export type Target = { what: "card"; photo: Which } | { what: "patch"; photo: Which; id: Id };

export const PATCH_RADIUS = 0.012;
export const CARD_RADIUS = 0.02;
export const CORNERS = ["dark skin (brown)", "bluish green", "black", "white"] as const;
const ROLES: readonly { role: Patch["role"]; name: string }[] = [
  { role: "piece", name: "Piece" }, { role: "edge", name: "Edge" }, { role: "skin", name: "Bare skin beside it" },
];

export class MeasureDraft {
  cards = $state<Record<Which, CardDraft>>({ then: { sort: "grey", spot: null, corners: [] }, now: { sort: "grey", spot: null, corners: [] } });
  patches = $state<PatchDraft[]>(ROLES.map((one) => ({ id: newId(), ...one, then: null, now: null })));
  target = $state.raw<Target | null>({ what: "card", photo: "then" });
  changed = $state(false);

  /** `withoutCard`: the photos of which it was said, when they were shot, that no card is in them. */
  constructor(withoutCard: readonly Which[] = []) {
    for (const photo of withoutCard) this.cards[photo].sort = "none";
    this.next();
  }

  static of(document: ColourMeasurementDocument): MeasureDraft {
    const draft = new MeasureDraft();
    const cardOf = ({ card }: ColourMeasurementDocument["then"]): CardDraft => ({ sort: card.sort, spot: card.spot ? { ...card.spot } : null, corners: (card.corners ?? []).map((corner) => ({ ...corner })) });
    draft.cards = { then: cardOf(document.then), now: cardOf(document.now) };
    draft.patches = Object.entries(document.patches).map(([id, patch]) => ({ id, role: patch.role, name: patch.name, then: { ...patch.then }, now: { ...patch.now } }));
    draft.target = null;
    return draft;
  }

  cardIsPlaced(photo: Which): boolean {
    const card = this.cards[photo];
    return card.sort === "none" || (card.sort === "grey" ? !!card.spot : card.corners.length === 4);
  }

  isPlaced(target: Target): boolean {
    return target.what === "card" ? this.cardIsPlaced(target.photo) : !!this.patches.find((one) => one.id === target.id)?.[target.photo];
  }

  /** Everything to be tapped, a photo after the other for the cards, then patch by patch. */
  get targets(): Target[] {
    return [
      ...(["then", "now"] as const).filter((photo) => this.cards[photo].sort !== "none").map((photo) => ({ what: "card" as const, photo })),
      ...this.patches.flatMap(({ id }) => (["then", "now"] as const).map((photo) => ({ what: "patch" as const, photo, id }))),
    ];
  }

  /** Puts what is asked for at a place; `mirrored` gives the same place on the other photo, where it is known. */
  place(at: { x: number; y: number }, mirrored: { x: number; y: number } | null): void {
    const target = this.target;
    if (!target) return;
    this.changed = true;
    if (target.what === "card") {
      const card = this.cards[target.photo];
      if (card.sort === "grey") card.spot = { ...at, radius: card.spot?.radius ?? CARD_RADIUS };
      else card.corners = card.corners.length === 4 ? [at] : [...card.corners, at];
      if (this.cardIsPlaced(target.photo)) this.next();
      return;
    }
    const patch = this.patches.find((one) => one.id === target.id);
    if (!patch) return;
    const radius = patch[target.photo]?.radius ?? patch.then?.radius ?? PATCH_RADIUS;
    patch[target.photo] = { ...at, radius };
    const other: Which = target.photo === "then" ? "now" : "then";
    if (mirrored && !patch[other]) patch[other] = { ...mirrored, radius };
    this.next();
  }

  next(): void {
    this.target = this.targets.find((target) => !this.isPlaced(target)) ?? this.target;
  }

  again(target: Target): void {
    if (target.what === "card" && this.cards[target.photo].sort === "patches_24") this.cards[target.photo].corners = [];
    this.target = target;
  }

  setSort(photo: Which, sort: CardSort): void {
    this.cards[photo] = { sort, spot: null, corners: [] };
    this.changed = true;
    if (sort !== "none") this.target = { what: "card", photo };
    else this.next();
  }

  /** The spot of what is asked for just now, where it has one. */
  get spot(): Spot | null {
    const target = this.target;
    if (!target) return null;
    return target.what === "card" ? this.cards[target.photo].spot : (this.patches.find((one) => one.id === target.id)?.[target.photo] ?? null);
  }

  setRadius(radius: number): void {
    const target = this.target;
    if (!target || !this.spot) return;
    this.changed = true;
    if (target.what === "card") this.cards[target.photo].spot!.radius = radius;
    else this.patches.find((one) => one.id === target.id)![target.photo]!.radius = radius;
  }

  add(): void {
    const id = newId();
    this.patches.push({ id, role: "other", name: "", then: null, now: null });
    this.target = { what: "patch", photo: "then", id };
    this.changed = true;
  }

  remove(id: Id): void {
    this.patches = this.patches.filter((one) => one.id !== id);
    this.changed = true;
    if (this.target?.what === "patch" && this.target.id === id) this.target = null;
    this.next();
  }

  /** Why it cannot be saved yet, in words; null when it can. */
  get lacks(): string | null {
    for (const photo of ["then", "now"] as const) if (!this.cardIsPlaced(photo)) return "Tap the card on both photos, or choose None.";
    const begun = this.patches.filter((patch) => patch.then || patch.now);
    if (begun.some((patch) => !patch.then || !patch.now)) return "Tap each place on both photos.";
    if (begun.some((patch) => !patch.name.trim())) return "Give each place a name.";
    return begun.length ? null : "Tap at least one place.";
  }

  document(pair: { look: Id; then: { application: Id; sha256: string }; now: { application: Id; sha256: string } }, points: Points | null): ColourMeasurementDocument {
    const photoOf = (photo: Which): ColourMeasurementDocument["then"] => {
      const { sort, spot, corners } = this.cards[photo];
      const plain = (point: { x: number; y: number }): { x: number; y: number } => ({ x: point.x, y: point.y });
      return {
        ...pair[photo], card: { sort, ...(sort === "grey" ? { spot: spot! } : {}), ...(sort === "patches_24" ? { corners: corners.map(plain) } : {}) },
        ...(points && points.then.length >= 2 ? { align: points[photo].map(plain) } : {}),
      };
    };
    return {
      look: pair.look, then: photoOf("then"), now: photoOf("now"),
      patches: Object.fromEntries(this.patches.filter((patch) => patch.then && patch.now).map(({ id, role, name, then, now }) => [id, { role, name: name.trim(), then: then!, now: now! }])),
    };
  }
}
