// What a view shows. All cases are constructed here.

import { expect, test } from "vitest";
import { inverse, moved } from "../src/domain/alignment";
import { bounded, extentOf, fitted, fractionsOf, NEAREST, ontoPane, panned, unitsOf, whole, zoomedAt } from "../src/domain/photoView";

const frame = extentOf(900, 1200);
const pane = { width: 195, height: 400 };
const near = (point: { x: number; y: number }) => ({ x: expect.closeTo(point.x, 6), y: expect.closeTo(point.y, 6) });

test("the whole photo fits its pane, in the middle", () => {
  const onto = ontoPane(whole(frame), frame, pane);
  expect(moved(onto, { x: 0, y: 0 })).toEqual(near({ x: 0, y: 70 }));
  expect(moved(onto, unitsOf({ x: 1, y: 1 }, frame))).toEqual(near({ x: 195, y: 330 }));
});

test("what lies under the fingers stays there when they zoom", () => {
  const start = { zoom: 3, x: 0.4, y: 0.5 };
  const fingers = { x: 120, y: 90 };
  const under = moved(inverse(ontoPane(start, frame, pane)), fingers);
  const closer = zoomedAt(start, 1.7, fingers, frame, pane);
  expect(closer.zoom).toBeCloseTo(5.1, 6);
  expect(moved(ontoPane(closer, frame, pane), under)).toEqual(near(fingers));
});

test("a photo goes along with the finger", () => {
  const start = { zoom: 4, x: 0.4, y: 0.5 };
  const point = { x: 0.42, y: 0.47 };
  const [before, later] = [moved(ontoPane(start, frame, pane), point), moved(ontoPane(panned(start, { x: 12, y: -7 }, frame, pane), frame, pane), point)];
  expect(later).toEqual(near({ x: before.x + 12, y: before.y - 7 }));
});

test("nobody gets lost: neither beyond the edge, nor too far, nor too near", () => {
  expect(bounded({ zoom: 0.2, x: 9, y: -9 }, frame, pane)).toEqual(whole(frame));
  expect(bounded({ zoom: 99, x: 0.5, y: 0.5 }, frame, pane).zoom).toBe(NEAREST);
  const corner = bounded({ zoom: 4, x: -1, y: -1 }, frame, pane);
  expect(moved(ontoPane(corner, frame, pane), { x: 0, y: 0 })).toEqual(near({ x: 0, y: 0 }));
});

test("who aims with the middle of the pane reaches the corners of the photo, even where the whole is shown", () => {
  for (const [x, y] of [[0, 0], [frame.width, frame.height]] as const) {
    const view = panned(whole(frame), { x: x ? -9999 : 9999, y: y ? -9999 : 9999 }, frame, pane, true);
    expect(moved(ontoPane(view, frame, pane), { x, y })).toEqual(near({ x: pane.width / 2, y: pane.height / 2 }));
  }
});

test("today's photo lies whole in the frame until points align it", () => {
  const today = extentOf(1600, 1200);
  const lies = fitted(today, frame);
  expect(moved(lies, unitsOf({ x: 0, y: 0.5 }, today))).toEqual(near({ x: 0, y: 0.5 }));
  expect(moved(lies, unitsOf({ x: 1, y: 0.5 }, today))).toEqual(near({ x: 0.75, y: 0.5 }));
});

test("fractions of a photo and its own units are two names of one place", () => {
  expect(fractionsOf(unitsOf({ x: 0.3, y: 0.9 }, frame), frame)).toEqual(near({ x: 0.3, y: 0.9 }));
});
