// The same cases as the server's tests run; each names where it is from.

import { describe, expect, test } from "vitest";
import cases from "../../tests/cases/alignment.json";
import { after, errorOf, inverse, moved, type Point, scaleOf, similarityOf } from "../src/domain/alignment";

const points = (list: number[][]): Point[] => list.map(([x, y]) => ({ x: x!, y: y! }));

test.each(cases)("$name", (one) => {
  const [from, to] = [points(one.from), points(one.to)];
  const found = similarityOf(from, to)!;
  expect([found.a, -found.b, found.b, found.a]).toEqual(one.matrix.flat().map((number) => expect.closeTo(number, 6)));
  expect([found.shift.x, found.shift.y]).toEqual(one.shift.map((number) => expect.closeTo(number, 5)));
  expect(scaleOf(found)).toBeCloseTo(one.scale, 6);
  expect(errorOf(found, from, to)).toBeCloseTo(one.mean_squared_error, 6);
});

describe("a similarity", () => {
  // Constructed here.
  const from = points([[0.2, 0.3], [0.7, 0.35], [0.4, 0.8]]);
  const how = { a: 0.9, b: 0.4, shift: { x: -0.1, y: 0.25 } };

  test("is found again from what it did to three points", () => {
    const found = similarityOf(from, from.map((point) => moved(how, point)))!;
    expect([found.a, found.b, found.shift.x, found.shift.y]).toEqual([0.9, 0.4, -0.1, 0.25].map((number) => expect.closeTo(number, 10)));
  });

  test("is undone by its inverse, and two are done one after the other", () => {
    for (const point of from) {
      const back = moved(inverse(how), moved(how, point));
      expect([back.x, back.y]).toEqual([expect.closeTo(point.x, 10), expect.closeTo(point.y, 10)]);
      const twice = moved(after(how, how), point);
      const stepwise = moved(how, moved(how, point));
      expect([twice.x, twice.y]).toEqual([expect.closeTo(stepwise.x, 10), expect.closeTo(stepwise.y, 10)]);
    }
  });

  test("turns from the axis of x towards that of y", () => {
    const turned = moved(similarityOf(points([[0, 0], [1, 0]]), points([[0, 0], [0, 1]]))!, { x: 0, y: 1 });
    expect([turned.x, turned.y]).toEqual([expect.closeTo(-1, 10), expect.closeTo(0, 10)]);
  });

  test.each([
    ["one point", [[0, 0]], [[1, 1]]],
    ["points that fall together", [[0.5, 0.5], [0.5, 0.5]], [[0, 0], [1, 0]]],
    ["points that would fall together", [[0, 0], [1, 0]], [[0.5, 0.5], [0.5, 0.5]]],
    ["lists of two lengths", [[0, 0], [1, 0]], [[0, 0], [1, 0], [1, 1]]],
  ])("is not there for %s", (_name, one, other) => {
    expect(similarityOf(points(one), points(other))).toBeNull();
  });
});
