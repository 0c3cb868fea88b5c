// A small real HTTP server for the tests of sending: it keeps what it is given, and can be told to behave as bad
// networks and bad days do. It is no model of the real server; it answers in its words.

import { createHash } from "node:crypto";
import { createServer, type IncomingMessage, type ServerResponse } from "node:http";
import type { AddressInfo } from "node:net";

export interface Entry { id: string; kind: string; record: string; based_on: string | null; patch: Record<string, unknown>; made_by: string; happened_at: string; withdrawn?: string }
type Handler = (request: IncomingMessage, response: ServerResponse, body: Buffer) => boolean | Promise<boolean>;

export class TestServer {
  readonly entries = new Map<string, Entry>();
  readonly stored: string[] = [];
  readonly files = new Map<string, { bytes: Buffer; size: number }>();
  readonly requests: { method: string; path: string; body: Buffer; headers: IncomingMessage["headers"] }[] = [];
  readonly refuse = new Map<string, { code: string; retryable: boolean }>();
  csrf = "token-1";
  signedIn = true;
  /** Tried in order before the usual answer; a handler that returns true has answered, and is used up. */
  readonly next: Handler[] = [];
  /** Always tried first; not used up. */
  always: Handler | null = null;
  changes: Record<string, unknown>[] = [];
  key = "key-1";
  /** By which a place in the feed is known again; another one after the server was restored from a backup. */
  mark = "mark-1";
  readonly #server = createServer((request, response) => void this.#handle(request, response));

  async start(): Promise<string> {
    await new Promise<void>((resolve) => this.#server.listen(0, "127.0.0.1", resolve));
    return `http://127.0.0.1:${(this.#server.address() as AddressInfo).port}`;
  }

  async stop(): Promise<void> {
    this.#server.closeAllConnections();
    await new Promise((resolve) => this.#server.close(resolve));
  }

  json(response: ServerResponse, status: number, body: unknown): true {
    response.writeHead(status, { "Content-Type": "application/json" });
    response.end(JSON.stringify(body));
    return true;
  }

  async #handle(request: IncomingMessage, response: ServerResponse): Promise<void> {
    const parts: Buffer[] = [];
    for await (const part of request) parts.push(part as Buffer);
    const body = Buffer.concat(parts);
    const path = request.url ?? "";
    this.requests.push({ method: request.method ?? "", path, body, headers: request.headers });
    if (this.always && (await this.always(request, response, body))) return;
    const handler = this.next.shift();
    if (handler && (await handler(request, response, body))) return;
    this.usual(request, response, body);
  }

  usual(request: IncomingMessage, response: ServerResponse, body: Buffer): void {
    const path = request.url ?? "";
    if (path === "/api/session") {
      this.json(response, 200, { answer: "session", signed_in: this.signedIn, csrf: this.csrf, user: this.signedIn ? { id: 1 } : null, productions: [] });
    } else if (!this.signedIn) {
      this.json(response, 401, { code: "signed_out", message: "Sign in again.", retryable: true });
    } else if (request.method !== "GET" && request.headers["x-csrftoken"] !== this.csrf) {
      this.json(response, 403, { code: "csrf_failed", message: "The token is old.", retryable: true });
    } else if (path.endsWith("/entries")) {
      const { entries } = JSON.parse(body.toString()) as { entries: Entry[] };
      this.json(response, 200, { answer: "entries", results: this.keep(entries) });
    } else if (path.endsWith("/entries/missing")) {
      const { ids } = JSON.parse(body.toString()) as { ids: string[] };
      const has = new Set([...this.entries.keys(), ...this.changes.map((change) => change.revision)]);
      this.json(response, 200, { answer: "missing", ids: ids.filter((id) => !has.has(id)) });
    } else if (path.includes("/changes?")) {
      const asked = new URL(path, "http://x").searchParams;
      const after = Number(asked.get("after"));
      if (asked.has("mark") && asked.get("mark") !== this.mark) {
        return void this.json(response, 200, { answer: "changes", key: `${this.key}-`, cursor: after, mark: null, gone_back: true, more: false, changes: [] });
      }
      const page = this.changes.filter((change) => (change.seq as number) > after).slice(0, 2);
      const cursor = (page.at(-1)?.seq as number | undefined) ?? after;
      this.json(response, 200, { answer: "changes", key: this.key, cursor, mark: this.mark, gone_back: false, more: this.changes.some((change) => (change.seq as number) > cursor), changes: page });
    } else if (path.includes("/files/")) {
      this.#file(request, response, body, path.split("/files/")[1]!.replace("/retry", ""));
    } else {
      this.json(response, 404, { code: "not_found", message: "Nothing here.", retryable: false });
    }
  }

  keep(entries: Entry[]): Record<string, unknown>[] {
    return entries.map((entry) => {
      const refused = this.refuse.get(entry.record);
      if (refused) return { id: entry.id, result: "refused", code: refused.code, message: `Refused: ${refused.code}`, retryable: refused.retryable, field: null, revision: null };
      const before = this.entries.get(entry.id);
      if (before) {
        if (JSON.stringify(before) !== JSON.stringify(entry)) return { id: entry.id, result: "refused", code: "body_mismatch", message: "Another body", retryable: false };
        return { id: entry.id, result: "repeat", revision: entry.id };
      }
      this.entries.set(entry.id, entry);
      this.stored.push(entry.id);
      return { id: entry.id, result: "stored", revision: entry.id };
    });
  }

  #file(request: IncomingMessage, response: ServerResponse, body: Buffer, sha256: string): void {
    const listed = [...this.entries.values()].some((entry) => JSON.stringify(entry.patch).includes(sha256));
    if (!listed) return void this.json(response, 404, { code: "not_expected", message: "Not listed yet.", retryable: true });
    const file = this.files.get(sha256) ?? { bytes: Buffer.alloc(0), size: -1 };
    this.files.set(sha256, file);
    const state = (): string => (file.bytes.length === file.size ? "stored" : "awaited");
    if (request.method === "PUT") {
      const [, from, to, total] = /^bytes (\d+)-(\d+)\/(\d+)$/.exec(request.headers["content-range"] ?? "")!.map(Number) as [number, number, number, number];
      if (from !== file.bytes.length) {
        return void this.json(response, 409, { code: "wrong_offset", message: "Another place.", retryable: true, received: file.bytes.length });
      }
      if (to - from + 1 !== body.length) return void this.json(response, 400, { code: "bad_range", message: "?", retryable: false });
      file.bytes = Buffer.concat([file.bytes, body]);
      file.size = total;
      if (file.bytes.length === total && createHash("sha256").update(file.bytes).digest("hex") !== sha256) {
        file.bytes = Buffer.alloc(0);
        return void this.json(response, 422, { code: "hash_mismatch", message: "Not these bytes.", retryable: true });
      }
    }
    this.json(response, 200, { answer: "file", state: state(), received: file.bytes.length });
  }
}
