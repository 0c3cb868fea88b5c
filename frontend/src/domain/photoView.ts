// What part of two photos is looked at, how near, and where each of them then lies in its pane. One view for both: that
// is what locks zoom and pan together.
//
// Units: a photo's own, in which its longer edge is 1, so that a small picture and a large one of the same photo agree.
// The frame is the established photo; today's lies in it by a similarity from its own units to the frame's.

import { after, inverse, moved, type Point, scaleOf, type Similarity } from "./alignment";

/** Width and height with the longer one 1. */
export interface Extent { width: number; height: number }
/** The middle of the pane in the frame, and how near: 1 shows the whole established photo. */
export interface View extends Point { zoom: number }
/** In CSS pixels. */
export interface Pane { width: number; height: number }

export const NEAREST = 16;

export function extentOf(width: number, height: number): Extent {
  const longer = Math.max(width, height);
  return { width: width / longer, height: height / longer };
}

export const whole = (frame: Extent): View => ({ zoom: 1, x: frame.width / 2, y: frame.height / 2 });

/** CSS pixels for one unit of the frame. */
export const pixelsPerUnit = (view: View, frame: Extent, pane: Pane): number => view.zoom * Math.min(pane.width / frame.width, pane.height / frame.height);

/** The nearest view that is allowed: no farther than the whole photo, and nothing empty where there is photo; for who is
    `aiming` with the middle of the pane, every place of the photo may come there. */
export function bounded(view: View, frame: Extent, pane: Pane, aiming = false): View {
  const zoom = Math.min(NEAREST, Math.max(1, view.zoom));
  const scale = pixelsPerUnit({ ...view, zoom }, frame, pane);
  const within = (at: number, size: number, shown: number): number => {
    const half = aiming ? 0 : Math.min(size, shown / scale) / 2;
    return Math.min(size - half, Math.max(half, at));
  };
  return { zoom, x: within(view.x, frame.width, pane.width), y: within(view.y, frame.height, pane.height) };
}

/** From the frame's units to CSS pixels of the pane. */
export function ontoPane(view: View, frame: Extent, pane: Pane): Similarity {
  const scale = pixelsPerUnit(view, frame, pane);
  return { a: scale, b: 0, shift: { x: pane.width / 2 - view.x * scale, y: pane.height / 2 - view.y * scale } };
}

/** Nearer or farther by `factor`, with what lies under `at` (pixels of the pane) staying there. */
export function zoomedAt(view: View, factor: number, at: Point, frame: Extent, pane: Pane, aiming = false): View {
  const zoom = Math.min(NEAREST, Math.max(1, view.zoom * factor));
  const under = moved(inverse(ontoPane(view, frame, pane)), at);
  const scale = pixelsPerUnit({ ...view, zoom }, frame, pane);
  return bounded({ zoom, x: under.x - (at.x - pane.width / 2) / scale, y: under.y - (at.y - pane.height / 2) / scale }, frame, pane, aiming);
}

/** Moved so that the photo goes along by so many pixels. */
export function panned(view: View, by: Point, frame: Extent, pane: Pane, aiming = false): View {
  const scale = pixelsPerUnit(view, frame, pane);
  return bounded({ ...view, x: view.x - by.x / scale, y: view.y - by.y / scale }, frame, pane, aiming);
}

/** How today's photo lies in the frame while nothing aligns it: whole, in the middle. */
export function fitted(photo: Extent, frame: Extent): Similarity {
  const a = Math.min(frame.width / photo.width, frame.height / photo.height);
  return { a, b: 0, shift: { x: (frame.width - a * photo.width) / 2, y: (frame.height - a * photo.height) / 2 } };
}

/** From fractions of the upright photo to its own units, and back. */
export const unitsOf = (point: Point, photo: Extent): Point => ({ x: point.x * photo.width, y: point.y * photo.height });
export const fractionsOf = (point: Point, photo: Extent): Point => ({ x: point.x / photo.width, y: point.y / photo.height });

/** Where a picture of so many pixels on its longer edge lies in the pane, as a CSS transform of its top left corner. */
export function cssOf(lies: Similarity, longerEdge: number): string {
  const { a, b, shift } = after(lies, { a: 1 / longerEdge, b: 0, shift: { x: 0, y: 0 } });
  return `matrix(${a},${b},${-b},${a},${shift.x},${shift.y})`;
}

/** A radius in CSS pixels for one given as a fraction of the photo's longer edge. */
export const radiusOn = (lies: Similarity, fraction: number): number => scaleOf(lies) * fraction;
