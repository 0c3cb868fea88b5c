// The pixels of a spot as it is shown, for the hints.

import { hintsOf, type SpotHint } from "../../../domain/spotHints";
import type { Spot } from "../../../types";
import type { Pictured } from "../compare/pictured.svelte";

export function hintsFor(picture: Pictured, spot: Spot, what: "patch" | "card"): SpotHint[] {
  const { canvas, longer } = picture;
  if (!canvas) return [];
  const radius = spot.radius * longer;
  const edge = 2 * Math.ceil(radius) + 1;
  const square = document.createElement("canvas");
  square.width = square.height = edge;
  const pen = square.getContext("2d", { willReadFrequently: true })!;
  pen.drawImage(canvas, Math.round(spot.x * canvas.width - edge / 2), Math.round(spot.y * canvas.height - edge / 2), edge, edge, 0, 0, edge, edge);
  return hintsOf({ data: pen.getImageData(0, 0, edge, edge).data, edge }, radius, what);
}
