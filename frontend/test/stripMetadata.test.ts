// The three pictures in test/pictures were made here with Pillow: each carries a maker, a model, a place and other words
// with "Secret" in them, an orientation of 6 and a colour profile; the JPEG also a comment and bytes after its end.

import { readFileSync } from "node:fs";
import { describe, expect, test } from "vitest";
import { mediaTypeOf, NotAPhoto, stripMetadata, tiffOrientation } from "../src/domain/stripMetadata";

const picture = (name: string): Uint8Array => new Uint8Array(readFileSync(new URL(`./pictures/${name}`, import.meta.url)));
const text = (bytes: Uint8Array): string => Buffer.from(bytes).toString("latin1");
const GPS_TAG = "\u0088\u0025";

/** Everything between the start of the first scan and the end of a JPEG: the coded picture. */
const coded = (bytes: Uint8Array): string => {
  const all = text(bytes);
  return all.slice(all.indexOf("\u00ff\u00da"), all.indexOf("\u00ff\u00d9") + 2);
};

describe.each([["phone.jpg", "image/jpeg"], ["phone.png", "image/png"], ["phone.webp", "image/webp"]])("%s", (name, mediaType) => {
  const original = picture(name);
  const stripped = stripMetadata(original);

  test("is known for what it is", () => expect(stripped.mediaType).toBe(mediaType));

  test("carried a place and a device, and does no longer", () => {
    expect(text(original)).toContain("Secret");
    expect(text(original)).toContain(GPS_TAG);
    expect(text(stripped.bytes)).not.toContain("Secret");
    expect(text(stripped.bytes)).not.toContain(GPS_TAG);
    expect(stripped.bytes.length).toBeLessThan(original.length);
  });

  test("still says which way up it is", () => {
    const all = text(stripped.bytes);
    expect(tiffOrientation(stripped.bytes.subarray(all.indexOf("MM\u0000*")))).toBe(6);
  });

  test("keeps its colour profile", () => expect(text(stripped.bytes)).toMatch(/ICC_PROFILE|iCCP|ICCP/));

  test("stripping again changes nothing, so its hash is stable", () => {
    expect(stripMetadata(stripped.bytes).bytes).toEqual(stripped.bytes);
  });
});

// camera.jpg was made here with Pillow, as a camera set to Adobe RGB writes it: no profile, ColorSpace and
// InteroperabilityIndex in EXIF, a maker and a serial number with "Secret" in them.
describe("camera.jpg", () => {
  const stripped = stripMetadata(picture("camera.jpg")).bytes;

  test("carried a device and a serial number, and does no longer", () => {
    expect(text(picture("camera.jpg")).match(/Secret/g)).toHaveLength(2);
    expect(text(stripped)).not.toContain("Secret");
  });

  // The server's tests look at that one and the original: their colours are the same.
  test("is what the server's tests look at", () => expect(stripped).toEqual(picture("camera.stripped.jpg")));

  test("stripping again changes nothing, so its hash is stable", () => expect(stripMetadata(stripped).bytes).toEqual(stripped));

  test.each([["R03", "R98"], ["\u00ff\u00ff\0\0", "\0\u0001\0\0"]])("what does not say both keeps nothing", (said, other) => {
    const bytes = Buffer.from(text(picture("camera.jpg")).replace(said, other), "latin1");
    expect(text(stripMetadata(new Uint8Array(bytes)).bytes)).not.toContain("Exif");
  });
});

test("not one coded byte of a JPEG changes", () => {
  const original = picture("phone.jpg");
  expect(coded(stripMetadata(original).bytes)).toBe(coded(original));
});

test("what is no picture is said to be none", () => {
  expect(() => stripMetadata(new TextEncoder().encode("a text file named .jpg"))).toThrow(NotAPhoto);
  expect(() => stripMetadata(picture("phone.jpg").subarray(0, 40))).toThrow(NotAPhoto);
  expect(() => stripMetadata(new Uint8Array(0))).toThrow(NotAPhoto);
  expect(mediaTypeOf(new TextEncoder().encode("GIF89a"))).toBe(null);
});

// phone.heic was made here with pillow-heif: a maker, a model, a serial number, a maker's note, a place, a thumbnail and
// XMP with "Secret" in them, turned by 90 degrees, with the profile of Display P3 and a small picture beside the large one.
describe("phone.heic", () => {
  const original = picture("phone.heic");
  const stripped = stripMetadata(original);

  test("is known for what it is", () => expect(stripped.mediaType).toBe("image/heic"));

  test("carried a place, a device and a serial number, and does no longer", () => {
    expect(text(original).match(/Secret/g)!.length).toBeGreaterThanOrEqual(7);
    expect(text(original)).toContain(GPS_TAG);
    expect(text(stripped.bytes)).not.toContain("Secret");
    expect(text(stripped.bytes)).not.toContain(GPS_TAG);
    expect(text(stripped.bytes)).not.toContain("xmpmeta");
  });

  test("is as long as it was, with every box but the dropped where it was", () => {
    expect(stripped.bytes.length).toBe(original.length);
    for (const kept of ["ftyp", "hvcC", "irot", "colr", "prof", "iloc", "acsp"]) {
      expect(text(stripped.bytes).indexOf(kept)).toBe(text(original).indexOf(kept));
      expect(text(original)).toContain(kept);
    }
  });

  test("stripping again changes nothing, so its hash is stable", () => {
    expect(stripMetadata(stripped.bytes).bytes).toEqual(stripped.bytes);
  });

  // The server's tests decode that one and the original: not a pixel differs, and nothing is told.
  test("is what the server's tests look at", () => {
    expect(stripped.bytes).toEqual(picture("phone.stripped.heic"));
  });

  test("a box behind the picture, such as a film with a place in it, is emptied", () => {
    const film = new TextEncoder().encode("....mpvdSecret film with a place");
    new DataView(film.buffer).setUint32(0, film.length);
    const both = new Uint8Array([...original, ...film]);
    expect(text(stripMetadata(both).bytes)).not.toContain("Secret");
  });

  test("one that is cut off is refused, wherever that is", () => {
    for (let length = 0; length < original.length; length += 7) {
      expect(() => stripMetadata(original.subarray(0, length)), `${length}`).toThrow(NotAPhoto);
    }
  });

  test("an AVIF, which has the same boxes, is none", () => {
    expect(mediaTypeOf(new TextEncoder().encode("\0\0\0\u0018ftypavif\0\0\0\0mif1avif"))).toBe(null);
  });
});
