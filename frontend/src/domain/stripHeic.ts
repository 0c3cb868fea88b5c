// Takes place, time and device out of a HEIC or HEIF (ISO/IEC 14496-12 and 23008-12), without touching a coded pixel.
//
// Nothing is moved, so that every offset in the file stays right: what is not needed is written over with zeros where it
// lies. What stays of the picture's data is what its items for pictures point to; Exif, XMP and anything else that is no
// picture goes, and with it all that nothing points to. Which way up the picture is stands in boxes of its own (irot,
// imir), which stay, and so does the colour profile.

import type { MediaType } from "../types";

const PICTURE_ITEMS: ReadonlySet<string> = new Set(["hvc1", "hev1", "lhv1", "jpeg", "avc1", "grid", "iovl", "iden", "tmap", "mski", "unci"]);
const TOP_KEPT: ReadonlySet<string> = new Set(["ftyp", "meta", "mdat"]);
const META_KEPT: ReadonlySet<string> = new Set(["hdlr", "dinf", "pitm", "iinf", "iloc", "iprp", "iref", "idat", "grpl", "ipro"]);
/** Properties with words or times in them: user description, creation and modification time, and whatever a maker adds. */
const PROPERTIES_DROPPED: ReadonlySet<string> = new Set(["udes", "altt", "crtt", "mdft", "uuid"]);

const NOTHING = new Uint8Array([0, 0, 0, 0, 0x4d, 0x4d, 0, 42, 0, 0, 0, 8, 0, 0, 0, 0, 0, 0]);

const BRANDS: ReadonlySet<string> = new Set(["heic", "heix", "heim", "heis"]);

/** What the file says it is; null when it is neither (an AVIF has the same boxes and another coding). */
export function heicTypeOf(bytes: Uint8Array): MediaType | null {
  if (text(bytes, 4, 4) !== "ftyp") return null;
  const end = Math.min(bytes.length, view(bytes).getUint32(0));
  const brands: string[] = [];
  for (let at = 8; at + 4 <= end; at += at === 8 ? 8 : 4) brands.push(text(bytes, at, 4));
  if (brands.some((brand) => BRANDS.has(brand))) return "image/heic";
  return brands[0] === "mif1" && !brands.includes("avif") ? "image/heif" : null;
}

/** Throws a RangeError for a file whose boxes do not say where its data lies. */
export function stripHeic(original: Uint8Array): Uint8Array<ArrayBuffer> {
  const bytes = new Uint8Array(original);
  const top = boxes(bytes, 0, bytes.length);
  const meta = one(top, "meta");
  const inside = boxes(bytes, meta.start + 4, meta.end);
  const items = itemTypes(bytes, one(inside, "iinf"));
  const idat = inside.find((box) => box.type === "idat");
  const places = extents(bytes, one(inside, "iloc"), idat);
  const kept = places.filter((extent) => PICTURE_ITEMS.has(items.get(extent.item) ?? ""));
  for (const box of [...top.filter((each) => each.type === "mdat"), ...(idat ? [idat] : [])]) blankBetween(bytes, box, kept);
  // A reader that looks for Exif finds a block with nothing in it: four bytes, and a TIFF of no entries.
  for (const extent of places) if (items.get(extent.item) === "Exif" && extent.end - extent.start >= NOTHING.length) bytes.set(NOTHING, extent.start);
  for (const box of top) if (!TOP_KEPT.has(box.type)) blank(bytes, box);
  for (const box of inside) if (!META_KEPT.has(box.type)) blank(bytes, box);
  const handler = one(inside, "hdlr");
  // Its first 20 bytes say that this is about pictures; behind them stands whatever the writer is called.
  bytes.fill(0, handler.start + 24, handler.end);
  const properties = inside.find((box) => box.type === "iprp");
  for (const container of properties ? boxes(bytes, properties.start, properties.end) : []) {
    if (container.type !== "ipco") continue;
    for (const property of boxes(bytes, container.start, container.end)) if (PROPERTIES_DROPPED.has(property.type)) blank(bytes, property);
  }
  return bytes;
}

interface Box { type: string; /** Where its name stands. */ name: number; start: number; end: number }
interface Extent { item: number; start: number; end: number }

function text(bytes: Uint8Array, at: number, length: number): string {
  return String.fromCharCode(...bytes.subarray(at, at + length));
}

function view(bytes: Uint8Array): DataView {
  return new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
}

function boxes(bytes: Uint8Array, from: number, to: number): Box[] {
  const data = view(bytes);
  const found: Box[] = [];
  for (let at = from; at < to;) {
    let size = data.getUint32(at);
    let head = 8;
    if (size === 1) {
      size = Number(data.getBigUint64(at + 8));
      head = 16;
    } else if (size === 0) {
      size = to - at;
    }
    if (size < head || at + size > to) throw new RangeError("A box of the file is cut off.");
    found.push({ type: text(bytes, at + 4, 4), name: at + 4, start: at + head, end: at + size });
    at += size;
  }
  return found;
}

function one(all: Box[], type: string): Box {
  const found = all.filter((box) => box.type === type);
  if (found.length !== 1) throw new RangeError(`The file has ${found.length} boxes ${type}.`);
  return found[0]!;
}

/** The type of each item, its name written over with spaces. */
function itemTypes(bytes: Uint8Array, iinf: Box): Map<number, string> {
  const data = view(bytes);
  const types = new Map<number, string>();
  const first = iinf.start + (data.getUint8(iinf.start) === 0 ? 6 : 8);
  for (const infe of boxes(bytes, first, iinf.end)) {
    const version = data.getUint8(infe.start);
    // Items of the first two versions have no type: none of them is a coded picture.
    if (infe.type !== "infe" || version < 2) continue;
    const wide = version > 2;
    const item = wide ? data.getUint32(infe.start + 4) : data.getUint16(infe.start + 4);
    const type = infe.start + (wide ? 10 : 8);
    types.set(item, text(bytes, type, 4));
    for (let at = type + 4; at < infe.end && bytes[at] !== 0; at++) bytes[at] = 0x20;
  }
  return types;
}

function extents(bytes: Uint8Array, iloc: Box, idat: Box | undefined): Extent[] {
  const data = view(bytes);
  const version = data.getUint8(iloc.start);
  const [offsetSize, lengthSize] = [data.getUint8(iloc.start + 4) >> 4, data.getUint8(iloc.start + 4) & 15];
  const [baseSize, indexSize] = [data.getUint8(iloc.start + 5) >> 4, version > 0 ? data.getUint8(iloc.start + 5) & 15 : 0];
  let at = iloc.start + 6;
  const number = (size: number): number => {
    const start = at;
    at += size;
    if (at > iloc.end) throw new RangeError("The list of places is cut off.");
    return size === 0 ? 0 : size === 2 ? data.getUint16(start) : size === 4 ? data.getUint32(start) : Number(data.getBigUint64(start));
  };
  const found: Extent[] = [];
  for (let left = number(version < 2 ? 2 : 4); left > 0; left--) {
    const item = number(version < 2 ? 2 : 4);
    const method = version > 0 ? number(2) & 15 : 0;
    if (number(2) !== 0) throw new RangeError("Its data lies in another file.");
    const base = number(baseSize);
    for (let each = number(2); each > 0; each--) {
      number(indexSize);
      const offset = base + number(offsetSize);
      const length = number(lengthSize);
      // Method 1 counts from the start of idat; method 2, from another item, is of pictures put together of others.
      const start = method === 1 ? (idat?.start ?? Number.NaN) + offset : offset;
      if (method > 1) continue;
      if (!(start + length <= bytes.length)) throw new RangeError("The picture is cut off.");
      found.push({ item, start, end: length ? start + length : bytes.length });
    }
  }
  return found;
}

/** A box that readers pass over, with nothing in it. */
function blank(bytes: Uint8Array, box: Box): void {
  bytes.set([0x66, 0x72, 0x65, 0x65], box.name);
  bytes.fill(0, box.start, box.end);
}

function blankBetween(bytes: Uint8Array, box: Box, kept: Extent[]): void {
  let at = box.start;
  for (const extent of [...kept].sort((first, second) => first.start - second.start)) {
    if (extent.end <= box.start || extent.start >= box.end) continue;
    bytes.fill(0, at, Math.max(at, extent.start));
    at = Math.max(at, Math.min(extent.end, box.end));
  }
  bytes.fill(0, at, box.end);
}
