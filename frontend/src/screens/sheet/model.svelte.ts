// One sheet while it is open: the record, or a draft that becomes one with its first change. Every change is saved at
// once, one after another; `problem` holds words for the screen when one could not be.

import { newId } from "../../domain/id";
import { mergePatch } from "../../domain/mergePatch";
import { now } from "../../domain/moment";
import { type SheetWarning, sheetWarnings } from "../../domain/sheetWarnings";
import { stageOf } from "../../domain/stage";
import { appliancesFor, documents, draftSheet, proposedCopies, scenesAhead } from "../../store/day.svelte";
import { allReady, recordsOf, todayOnSet, unsentOf } from "../../store/live.svelte";
import { NoRoom, type Patch, save, withdraw } from "../../store/save";
import { readPhoto } from "../../sync/photo";
import { session } from "../../sync/session.svelte";
import type { ApplicationDocument, Id, JsonObject, Photo, Rec } from "../../types";
import { hold } from "../../update.svelte";

const list = (text: string | null): string[] => (text ? text.split(",").filter(Boolean) : []);

export class SheetModel {
  readonly id: Id;
  problem = $state<string | null>(null);
  /** Photos being read and kept just now. */
  reading = $state(0);
  at = $state(now());
  /** The question that is up, where more than one button asks it. */
  asking = $state<"touch_up" | "photos" | null>(null);
  #made = $state(false);
  #draft = $state.raw<ApplicationDocument | null>(null);
  #queue: Promise<void> = Promise.resolve();

  constructor(parts: string[], query: URLSearchParams) {
    const [id = "new"] = parts;
    this.#made = id !== "new";
    this.id = this.#made ? id : newId();
    if (!this.#made) {
      const look = query.get("look") ?? "";
      const scenes = list(query.get("scenes"));
      const appliances = query.has("appliances") ? list(query.get("appliances")) : null;
      const performer = query.get("performer") ?? "";
      this.#given = { performer, look, date: query.get("date") ?? todayOnSet(), scenes, appliances };
    }
  }

  readonly #given: { performer: Id; look: Id; date: string; scenes: Id[]; appliances: Id[] | null } | null = null;

  /** Whether all that the sheet names has been read. */
  get ready(): boolean {
    return allReady("application", "performer", "character", "look", "crew", "copy", "appliance", "material", "recipe", "scene", "production");
  }

  /** Fills in a new sheet once everything it is made from has been read; call from an effect. */
  prepare(): void {
    if (this.#made || this.#draft || !this.#given) return;
    if (!this.ready || !session.production) return;
    const { appliances, performer, look } = this.#given;
    this.#draft = draftSheet({ ...this.#given, appliances: appliances ?? appliancesFor(look, performer), artist: session.production.crew });
  }

  get record(): Rec<"application"> | undefined {
    return recordsOf("application").get(this.id);
  }
  get document(): ApplicationDocument | undefined {
    return this.record?.document ?? this.#draft ?? undefined;
  }
  get isDraft(): boolean {
    return !this.#made;
  }
  get missing(): boolean {
    return this.#made && recordsOf("application").ready && !this.document;
  }
  get withdrawn(): boolean {
    return this.record?.withdrawn ?? false;
  }
  get readOnly(): boolean {
    return !session.can("application") || this.withdrawn;
  }
  get stage() {
    return stageOf(this.document);
  }

  get warnings(): SheetWarning[] {
    const sheet = this.document;
    if (!sheet) return [];
    const usedElsewhere = new Set<Id>();
    // Of two sheets with one copy the server flags the later one; until it has spoken, the phone warns on its own.
    const record = this.record;
    const judged = !!record?.received_at && !unsentOf(this.id) && !record.derived.flags?.includes("copy_applied_twice");
    for (const row of recordsOf("application").list) {
      if (row.id !== this.id && !judged) for (const use of Object.values(row.document.copies ?? {})) usedElsewhere.add(use.copy_used);
    }
    const performers = documents("performer");
    return sheetWarnings({
      sheet, usedElsewhere, at: this.at,
      performer: performers.get(sheet.performer) ?? { name: "" },
      copies: documents("copy"), appliances: documents("appliance"), materials: documents("material"),
      performerNames: new Map([...performers].map(([id, performer]) => [id, performer.name])),
      grades: recordsOf("look").get(sheet.look)?.document.grades ?? {}, scenesAhead: scenesAhead(sheet.date),
      healthKnown: session.seesHealth,
    });
  }

  /** The field that keeps that a warning was gone past. */
  passed(warning: SheetWarning) {
    return this.document?.[warning.aboutHealth ? "health_overridden" : "overridden"]?.[warning.key];
  }
  get openWarnings(): SheetWarning[] {
    return this.warnings.filter((warning) => !this.passed(warning));
  }

  /** Puts it in the chair: the copies that are next are taken, unless others were. */
  start(): Promise<void> {
    const sheet = this.document!;
    const none = !Object.keys(sheet.copies ?? {}).length;
    return this.change({ started_at: now(), ...(none ? { copies: proposedCopies(appliancesFor(sheet.look, sheet.performer), sheet.date, { look: sheet.look, scenes: sheet.scenes ?? [] }) } : {}) });
  }

  /** Saves a change; changes made quickly one after another keep their order. */
  change(patch: Patch<ApplicationDocument>, options: Parameters<typeof save>[3] = {}): Promise<void> {
    const release = hold("the sheet is being saved");
    const step = this.#queue.then(async () => {
      try {
        if (this.#made) {
          await save("application", this.id, patch, options);
        } else {
          const plain = JSON.parse(JSON.stringify(patch)) as JsonObject;
          // What is written before the start does not take the copies out of the box yet.
          const draft = plain.started_at || plain.copies ? this.#draft : { ...this.#draft, copies: {} };
          const document = mergePatch(draft, plain);
          await save("application", null, document as ApplicationDocument, { ...options, id: this.id });
          this.#made = true;
          // Without a new page: a reload and "back" then find the record.
          history.replaceState(null, "", `#/sheet/${this.id}`);
        }
        this.problem = null;
      } catch (error) {
        this.problem = error instanceof NoRoom ? error.message : "This change could not be kept on the phone. Try it once more.";
        if (!(error instanceof NoRoom)) console.error(error);
      } finally {
        release();
      }
    });
    this.#queue = step;
    return step;
  }

  /** Reads, strips and hashes a photo first; then the sheet, the photo and what is to be sent go down together. */
  async addPhoto(file: Blob, details: Omit<Photo, "sha256" | "size" | "media_type" | "taken_at">): Promise<void> {
    const release = hold("a photo is being kept");
    this.reading += 1;
    try {
      const photo = await readPhoto(file);
      const known = Object.values(this.document?.photos ?? {}).some((other) => other.sha256 === photo.sha256);
      if (known) {
        this.problem = "This photo is on the sheet already.";
        return;
      }
      const manifest: Photo = { ...details, sha256: photo.sha256, size: photo.bytes.byteLength, media_type: photo.media_type, taken_at: now() };
      await this.change({ photos: { [newId()]: manifest } }, { photos: [photo] });
    } catch (error) {
      this.problem = error instanceof Error ? error.message : "This photo could not be read.";
    } finally {
      this.reading -= 1;
      release();
    }
  }

  async withdraw(reason: string): Promise<void> {
    await withdraw("application", this.id, reason);
  }
}
