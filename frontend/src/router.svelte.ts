// Hash routes, so that any server and any cold start without a network gives the same page.
// `route.screen`, `route.parts` (what follows, split at "/"), `route.query`; `go("/sheet/…")`, `go(…, { replace: true })`.

export type Screen = "today" | "sheet" | "match" | "cover" | "shop" | "copy" | "set-up" | "unsent" | "sign-in";
const SCREENS: readonly string[] = ["today", "sheet", "match", "cover", "shop", "copy", "set-up", "unsent", "sign-in"];

function read(): { screen: Screen; parts: string[]; query: URLSearchParams } {
  const [path = "", query = ""] = location.hash.replace(/^#\/?/, "").split("?");
  const [screen = "", ...parts] = path.split("/").map(decodeURIComponent);
  return { screen: (SCREENS.includes(screen) ? screen : "today") as Screen, parts: parts.filter(Boolean), query: new URLSearchParams(query) };
}

class Route {
  #now = $state.raw(read());
  get screen(): Screen { return this.#now.screen; }
  get parts(): string[] { return this.#now.parts; }
  get query(): URLSearchParams { return this.#now.query; }
  constructor() {
    addEventListener("hashchange", () => (this.#now = read()));
  }
}

export const route = new Route();

export function go(path: string, options: { replace?: boolean } = {}): void {
  const url = `#${path}`;
  if (options.replace) location.replace(url);
  else location.hash = url;
}
