// The outbox where something else answers, the login is lost, or the server has trouble.

import { describe, expect, test } from "vitest";
import { newId } from "../../src/domain/id";
import { write } from "../../src/sync/outbox";
import { author, copy, db, outbox, pass, send, serials, server } from "./phone";

describe("something else answers", () => {
  const odd: [string, number, string, string][] = [
    ["a sign-in page with 200", 200, "text/html", "<html>Welcome to the hotel</html>"],
    ["200 and JSON of another's", 200, "application/json", '{"ok":true}'],
    ["the right word and no results", 200, "application/json", '{"answer":"entries"}'],
    ["a gateway's error page", 502, "text/html", "<h1>Bad gateway</h1>"],
  ];
  test.each(odd)("%s takes nothing out of the outbox", async (_name, status, type, text) => {
    await write(db, author, "copy", null, copy("CB-1"));
    server.next.push((_request, response) => {
      response.writeHead(status, { "Content-Type": type });
      response.end(text);
      return true;
    });
    expect((await send()).stop).toBe(status === 200 ? "odd" : "server");
    expect(await outbox()).toHaveLength(1);
    await send();
    expect(serials()).toEqual(["CB-1"]);
  });

  test("an answer for other ids leaves ours where they are", async () => {
    await write(db, author, "copy", null, copy("CB-1"));
    server.next.push((_request, response) => server.json(response, 200, { answer: "entries", results: [{ id: newId(), result: "stored" }] }));
    await send();
    expect(await outbox()).toHaveLength(1);
    pass(3_600_000);
    await send();
    expect(serials()).toEqual(["CB-1"]);
  });

  test("a redirect to a sign-in page takes nothing out", async () => {
    await write(db, author, "copy", null, copy("CB-1"));
    server.next.push((_request, response) => {
      response.writeHead(302, { Location: "http://127.0.0.1:9/" });
      response.end();
      return true;
    });
    expect((await send()).stop).toBe("network");
    expect(await outbox()).toHaveLength(1);
  });
});

describe("a lost login", () => {
  test("401 stops the queue and keeps everything; after signing in it goes", async () => {
    server.signedIn = false;
    await write(db, author, "copy", null, copy("CB-1"));
    await write(db, author, "copy", null, copy("CB-2"));
    expect(await send()).toEqual({ stop: "signed_out", sent: 0 });
    expect(await outbox()).toHaveLength(2);
    server.signedIn = true;
    await send();
    expect(serials()).toEqual(["CB-1", "CB-2"]);
  });

  test("a token that was renewed is fetched and the entry goes at once", async () => {
    await write(db, author, "copy", null, copy("CB-1"));
    server.csrf = "token-2";
    expect(await send()).toEqual({ stop: "done", sent: 1 });
    expect(serials()).toEqual(["CB-1"]);
  });
});

describe("a server with trouble", () => {
  test("500 and then an answer: everything once", async () => {
    await write(db, author, "copy", null, copy("CB-1"));
    server.next.push((_request, response) => server.json(response, 500, { code: "server_error", message: "Trouble.", retryable: true }));
    await send();
    pass(600_000);
    await send();
    expect(serials()).toEqual(["CB-1"]);
    expect(await outbox()).toEqual([]);
  });

  test("an entry the server falls over is found, and the others get past it", async () => {
    for (let number = 1; number <= 20; number++) await write(db, author, "copy", null, copy(`CB-${number}`));
    server.always = (_request, response, body) => body.includes('"CB-7"') && server.json(response, 500, { code: "server_error", message: "Trouble.", retryable: true });
    await send();
    expect(serials()).toHaveLength(19);
    expect(serials()).not.toContain("CB-7");
    expect((await outbox()).map((row) => row.patch.serial)).toEqual(["CB-7"]);
  });

  test("a server that is down for all is not asked once for every entry", async () => {
    for (let number = 1; number <= 40; number++) await write(db, author, "copy", null, copy(`CB-${number}`));
    server.always = (_request, response) => server.json(response, 500, { code: "server_error", message: "Trouble.", retryable: true });
    expect((await send()).stop).toBe("server");
    expect(server.requests.length).toBeLessThan(12);
    expect(await outbox()).toHaveLength(40);
  });

  test("no server at all", async () => {
    await write(db, author, "copy", null, copy("CB-1"));
    await server.stop();
    expect((await send()).stop).toBe("network");
    expect(await outbox()).toHaveLength(1);
  });

  test("a body over the limit is sent in several", async () => {
    for (let number = 1; number <= 3; number++) await write(db, author, "copy", null, { ...copy(`CB-${number}`), note: "x".repeat(2_000_000) });
    await send();
    expect(serials()).toEqual(["CB-1", "CB-2", "CB-3"]);
    expect(server.requests.every((request) => request.body.length < 5_000_000)).toBe(true);
  });

  test("what failed while the phone's clock was hours ahead goes once the clock is right", async () => {
    await write(db, author, "copy", null, copy("CB-1"));
    pass(10 * 3_600_000);
    server.next.push((_request, response, body) => {
      const [entry] = JSON.parse(body.toString()).entries;
      return server.json(response, 200, { answer: "entries", results: [{ id: entry.id, result: "refused", code: "server_busy", retryable: true }] });
    });
    await send();
    await send();
    expect(server.stored).toHaveLength(0);
    pass(-10 * 3_600_000);
    await send();
    expect(serials()).toEqual(["CB-1"]);
  });
});
