// A webhook receiver that checks every signature with the library of the Standard Webhooks
// specification and answers as the path asks. One JSON line a request on standard output, and first
// one with its port. Secrets come, one a line, on standard input.
"use strict";
const http = require("node:http");
const path = require("node:path");
const { Webhook } = require(path.join(__dirname, "..", "node_modules", "standardwebhooks"));

const secrets = require("node:fs").readFileSync(0, "utf8").split("\n").filter(Boolean);

function say(line) {
  process.stdout.write(JSON.stringify(line) + "\n");
}

// For each secret: true, or why the library refuses.
function check(body, headers) {
  return secrets.map((secret) => {
    try {
      new Webhook(secret).verify(body, headers);
      return true;
    } catch (error) {
      return String(error.message);
    }
  });
}

const answers = {
  "/200": (_, reply) => reply.end("thank you\nsecond line"),
  "/204": (_, reply) => reply.writeHead(204).end(),
  "/400": (_, reply) => reply.writeHead(400).end("bad \x1b[31mword"),
  "/500": (_, reply) => reply.writeHead(500).end("out of order"),
  "/429": (_, reply) => reply.writeHead(429, { "Retry-After": "7" }).end(),
  "/503": (_, reply) =>
    reply.writeHead(503, {
      Date: "Sun, 01 Mar 2026 02:00:00 GMT",
      "Retry-After": "Sun, 01 Mar 2026 02:01:30 GMT",
    }).end(),
  "/302": (_, reply) => reply.writeHead(302, { Location: "/200" }).end(),
  "/307": (_, reply) => reply.writeHead(307, { Location: "/200" }).end(),
  "/410": (_, reply) => reply.writeHead(410).end("gone"),
  "/hang": () => {},
  "/close": (request) => request.socket.destroy(),
  "/half": (request, reply) => {
    reply.writeHead(200, { "Content-Length": "1000" });
    reply.write("half", () => request.socket.destroy());
  },
  "/endless": (_, reply) => {
    const more = () => reply.write("x".repeat(16384), (error) => error || setImmediate(more));
    more();
  },
  "/echo": (request, reply, body) =>
    reply.writeHead(400).end(`${request.url} ${request.headers.authorization} ${body}`),
};

const server = http.createServer((request, reply) => {
  const chunks = [];
  request.on("data", (chunk) => chunks.push(chunk));
  request.on("end", () => {
    const body = Buffer.concat(chunks).toString("utf8");
    const { pathname } = new URL(request.url, "http://receiver");
    say({
      path: pathname, method: request.method, headers: request.headers, body,
      checked: check(body, request.headers),
    });
    const name = Object.keys(answers).find((known) => pathname.startsWith(known));
    if (name) answers[name](request, reply, body);
    else reply.writeHead(404).end();
  });
});
server.listen(0, "127.0.0.1", () => say({ port: server.address().port }));
