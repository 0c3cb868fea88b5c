// Cases constructed here; that look books go by story day is common practice, no source.

import { describe, expect, test } from "vitest";
import { neighboursOf, storyOf } from "../../src/domain/storyOrder";
import { applicationsOf, faceOf, lastShot, nextAngle, shotInScene, shotOfAngle, wantedAngles } from "../../src/domain/wantedAngles";
import type { Angle, ApplicationDocument, PhotoMoment } from "../../src/types";

const scene = (id: string, story_day: number | undefined, position: number, ...worn: { character: string; look?: string; performer?: string }[]) => ({
  id, document: { number: id, position, ...(story_day === undefined ? {} : { story_day }), worn },
});
const mara = (look: string, performer?: string) => ({ character: "mara", look, ...(performer ? { performer } : {}) });

describe("a character's scenes in story order", () => {
  // As they are shot: the last day first.
  const scenes = [
    scene("80", 9, 0, mara("scar")), scene("12", 2, 5, mara("fresh", "double"), mara("fresh")), scene("11", 2, 1, mara("fresh")), scene("40", 4, 0, { character: "ivo", look: "burn" }),
    scene("13", 3, 0, mara("old")), scene("5", 1, 0, { character: "mara" }), scene("90", undefined, 0, mara("scar")),
  ];

  test("by story day and place, whatever the order of shooting; a scene without a story day comes last", () => {
    expect(storyOf("mara", scenes).map(({ scene }) => scene)).toEqual(["11", "12", "13", "80", "90"]);
  });

  test("before and after: the character's own scenes only, and only those with a look", () => {
    const around = neighboursOf("13", "mara", scenes);
    expect([around.before?.scene, around.here?.look, around.after?.scene]).toEqual(["12", "old", "80"]);
    expect(neighboursOf("11", "mara", scenes).before).toBeUndefined();
    expect(neighboursOf("90", "mara", scenes).after).toBeUndefined();
  });

  test("the performer stands for the character, not the double", () => {
    expect(neighboursOf("13", "mara", scenes).before).not.toHaveProperty("performer");
  });

  test("seen from a scene the character is not in", () => {
    const around = neighboursOf("40", "mara", scenes);
    expect([around.before?.scene, around.here, around.after?.scene]).toEqual(["13", undefined, "80"]);
  });
});

describe("the photos of a look", () => {
  const photo = (angle: Angle, moment: PhotoMoment, taken_at: string, more: { scene?: string; kept_despite?: "blurred"[] } = {}) => ({ sha256: `${angle}${moment}${taken_at}`, size: 1, media_type: "image/jpeg" as const, angle, moment, taken_at, ...more });
  const row = (id: string, date: string, document: Partial<ApplicationDocument>) => ({ id, happened_at: `${date}T05:00:00Z`, document: { performer: "anna", look: "fresh", date, artist: "x", ...document } });

  const first = row("first", "2026-03-02", { scenes: ["12"], photos: {
    a: photo("front", "applied", "2026-03-02T06:00:00Z"), b: photo("front", "on_set", "2026-03-02T08:00:00Z", { scene: "12" }), c: photo("close_up", "before", "2026-03-02T05:00:00Z"), d: photo("front", "removed", "2026-03-02T18:00:00Z"),
  } });
  const second = row("second", "2026-03-05", { scenes: ["11"], photos: { a: photo("front", "on_set", "2026-03-05T08:00:00Z", { kept_despite: ["blurred"] }), b: photo("front", "on_set", "2026-03-05T07:00:00Z"), c: photo("profile_left", "applied", "2026-03-05T07:30:00Z") } });
  const doubled = row("doubled", "2026-03-06", { performer: "double", photos: { a: photo("front", "on_set", "2026-03-06T08:00:00Z") } });
  const all = [first, second, doubled];

  test("on set before applied; bare skin never; a frame kept in spite of a fault after one without", () => {
    expect(shotOfAngle(first, "front")?.photo.moment).toBe("on_set");
    expect(shotOfAngle(first, "close_up")).toBeUndefined();
    expect(shotOfAngle(second, "front")?.key).toBe("b");
  });

  test("the last one: of the same performer where there is one, and not of the sheet itself", () => {
    expect(lastShot("fresh", "front", all)?.application).toBe("doubled");
    expect(lastShot("fresh", "front", all, { performer: "anna" })?.application).toBe("second");
    expect(lastShot("fresh", "front", all, { performer: "anna", except: "second" })?.application).toBe("first");
    expect(lastShot("fresh", "close_up", all)).toBeUndefined();
    expect(applicationsOf("fresh", all).map(({ id }) => id)).toEqual(["doubled", "second", "first"]);
  });

  test("of a scene: taken in it, else of what was worn in it", () => {
    expect(shotInScene("12", "fresh", all)).toMatchObject({ application: "first", key: "b" });
    expect(shotInScene("11", "fresh", all)).toMatchObject({ application: "second" });
    expect(shotInScene("11", "fresh", all, "profile_left")?.key).toBe("c");
    expect(shotInScene("99", "fresh", all)).toBeUndefined();
    expect(faceOf(second)?.photo.angle).toBe("front");
  });

  test("a photo of which nothing can be shown is not offered, another is", () => {
    expect(faceOf(first)?.key).toBe("b");
    const failed = (key: string) => ({ files: { [first.document.photos![key]!.sha256]: "unreadable" } });
    expect(faceOf({ ...first, derived: failed("b") })?.key).not.toBe("b");
    expect(shotInScene("12", "fresh", [{ ...first, derived: failed("b") }])?.key).not.toBe("b");
  });

  test("the wanted angles are ticked off in their order, for each moment anew", () => {
    const wanted = wantedAngles({ wanted_angles: ["close_up", "front", "profile_left"] });
    expect(wanted).toEqual(["front", "profile_left", "close_up"]);
    expect(wantedAngles({}).length).toBe(4);
    expect(nextAngle(wanted, second.document, "applied")).toBe("front");
    expect(nextAngle(wanted, second.document, "applied", "front")).toBe("close_up");
    expect(nextAngle(wanted, { photos: { a: photo("front", "applied", "x"), b: photo("close_up", "applied", "x"), c: photo("profile_left", "applied", "x") } }, "applied")).toBeNull();
    expect(nextAngle(wanted, second.document, "after")).toBe("front");
  });
});
