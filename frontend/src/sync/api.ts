// Talks to the server. `createApi("")` speaks to where the app came from. Every answer is checked for being ours:
// a network that answers for itself (a hotel's sign-in page) says 200 to anything.
//
//   const cover = await api.get<CoverAnswer>(`/api/productions/${p}/cover`, "cover");
//   await api.send("POST", `/api/productions/${p}/crew`, { ... }, "crew");
//
// Failures are thrown: `ServerError` (the server's own code and words) or `NoAnswer` (no network, or an odd answer).

export const APP_VERSION: string = typeof __APP_VERSION__ === "string" ? __APP_VERSION__ : "test";

/** The server answered with an error of its own. `message` is fit for the screen. */
export class ServerError extends Error {
  constructor(
    readonly status: number,
    readonly code: string,
    message: string,
    readonly retryable: boolean,
    readonly field?: string,
    readonly body?: Record<string, unknown>,
  ) {
    super(message);
  }
}

/** Nothing of ours came back. odd: something else answered, as a sign-in page of the network does. */
export class NoAnswer extends Error {
  constructor(readonly why: "network" | "odd" | "server", readonly status = 0) {
    super(
      why === "network" ? "No network, or the server cannot be reached." :
      why === "odd" ? "Something else than the server answered: this network may want you to sign in to it first." :
      "The server has trouble.",
    );
  }
}

/** What a screen says of a failure; `offline` where there is no network. Whatever else went wrong is thrown on. */
export function troubleWords(error: unknown, offline?: string): string {
  if (error instanceof NoAnswer) return error.why === "network" && offline ? offline : error.message;
  if (error instanceof ServerError) return error.message;
  throw error;
}

export interface Answer {
  answer: string;
  [name: string]: unknown;
}

export interface Api {
  get<T>(path: string, answer: string): Promise<T>;
  send<T>(method: "POST" | "PATCH" | "DELETE", path: string, body: unknown, answer: string | null): Promise<T>;
  put<T>(path: string, bytes: ArrayBuffer | Blob, headers: Record<string, string>, answer: string, method?: "PUT" | "POST"): Promise<T>;
  /** A picture, or another kind of file by the beginning of its media type. */
  bytes(path: string, kind?: string): Promise<{ bytes: ArrayBuffer; type: string }>;
  /** Plain text, such as a CSV template. */
  text(path: string): Promise<string>;
  csrf: string;
}

const TIMEOUT = 30_000;

export function createApi(base: string): Api {
  const call = async (path: string, init: RequestInit, timeout = TIMEOUT): Promise<Response> => {
    try {
      return await fetch(base + path, {
        credentials: "same-origin",
        cache: "no-store",
        redirect: "error",
        signal: AbortSignal.timeout(timeout),
        ...init,
        headers: { "X-Continuity-Version": APP_VERSION, Accept: "application/json", ...init.headers },
      });
    } catch {
      throw new NoAnswer("network");
    }
  };

  const read = async <T>(response: Response, expected: string | null): Promise<T> => {
    if (response.status === 204 && expected === null) return undefined as T;
    let body: unknown;
    try {
      body = await response.json();
    } catch {
      throw new NoAnswer(response.ok ? "odd" : response.status >= 500 ? "server" : "odd", response.status);
    }
    const known = typeof body === "object" && body !== null ? (body as Record<string, unknown>) : {};
    if (response.ok) {
      if (expected !== null && known.answer !== expected) throw new NoAnswer("odd", response.status);
      return known as T;
    }
    if (typeof known.code !== "string") throw new NoAnswer(response.status >= 500 ? "server" : "odd", response.status);
    throw new ServerError(
      response.status, known.code, typeof known.message === "string" ? known.message : known.code,
      known.retryable === true, typeof known.field === "string" ? known.field : undefined, known,
    );
  };

  const api: Api = {
    csrf: "",
    async get(path, answer) {
      return read(await call(path, { method: "GET" }), answer);
    },
    async send(method, path, body, answer) {
      return read(
        await call(path, {
          method,
          headers: { "X-CSRFToken": api.csrf, "Content-Type": "application/json" },
          ...(body === undefined ? {} : { body: JSON.stringify(body) }),
        }),
        answer,
      );
    },
    async put(path, bytes, headers, answer, method = "PUT") {
      return read(await call(path, { method, headers: { "X-CSRFToken": api.csrf, ...headers }, body: bytes }, 120_000), answer);
    },
    async bytes(path, kind = "image/") {
      const response = await call(path, { method: "GET", headers: { Accept: "*/*" } });
      const type = response.headers.get("content-type") ?? "";
      if (!response.ok) return read(response, null);
      if (!type.startsWith(kind)) throw new NoAnswer("odd", response.status);
      return { bytes: await response.arrayBuffer(), type };
    },
    async text(path) {
      const response = await call(path, { method: "GET", headers: { Accept: "*/*" } });
      if (!response.ok) return read(response, null);
      if (response.headers.get("content-type")?.startsWith("text/html")) throw new NoAnswer("odd", response.status);
      return response.text();
    },
  };
  return api;
}

export const api = createApi("");
