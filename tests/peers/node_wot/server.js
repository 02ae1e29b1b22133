// An invented presence unit served by a general-purpose program that knows nothing of us: `@node-wot`.
//
//   node server.js [--secret NAME:PASSWORD] [--base-uri URL]
//
// Without --base-uri every address in the description names the machine's other interfaces; with it, the one
// that was given. It listens on loopback alone, prints one line of JSON with the address of its description,
// and tells at /asked what it was asked (that is ours; no unit has it).
"use strict";

const path = require("node:path");
const { createRequire } = require("node:module");

// The modules lie in a cache beside the tests' other output, not beside this file.
const from = createRequire(path.join(process.env.PEER_MODULES || __dirname, "package.json"));
const { Servient } = from("@node-wot/core");
const { HttpServer } = from("@node-wot/binding-http");

const REPORT_EVERY_MS = 50;
const SETTINGS = { reach: 450, hold: 30, light: true, note: "by the door" };
const AREAS = {
  revision: 3,
  areas: [{ id: "1", label: "Sofa", kind: "watch", shape: "rectangle", ...rectangle(-900, 500, 600, 2500) }],
};

function rectangle(left, near, right, far) {
  return { min: { x: left, y: near }, max: { x: right, y: far } };
}

const corner = {
  type: "object",
  properties: {
    x: { "@type": "pres:SensorX", type: "integer", unit: "qunit:MilliM", minimum: -6000, maximum: 6000 },
    y: { "@type": "pres:SensorY", type: "integer", unit: "qunit:MilliM", minimum: 0, maximum: 6000 },
  },
  required: ["x", "y"],
};

const description = {
  "@context": [
    "https://www.w3.org/2022/wot/td/v1.1",
    { pres: "https://walkdown.example/presence#", qunit: "http://qudt.org/vocab/unit/" },
  ],
  "@type": "pres:PresenceUnit",
  id: "urn:uuid:6f0f4c58-3a1d-4a63-9f0e-0d2a3f2f7c11",
  title: "Invented unit",
  properties: {
    about: {
      "@type": "pres:Identity",
      type: "object",
      readOnly: true,
      properties: {
        serial: { "@type": "pres:SerialNumber", type: "string" },
        board: { "@type": "pres:HardwareRevision", type: "string" },
        module: { "@type": "pres:ModuleType", type: "string" },
      },
    },
    build: {
      "@type": "pres:FirmwareBuild",
      type: "object",
      readOnly: true,
      properties: { version: { "@type": "pres:FirmwareVersion", type: "string" } },
    },
    abilities: {
      "@type": "pres:Capabilities",
      type: "object",
      readOnly: true,
      properties: {
        range: { "@type": "pres:MaxRange", type: "number", unit: "qunit:M" },
        areas: { "@type": "pres:MaxAreas", type: "integer" },
      },
    },
    tuning: {
      "@type": "pres:Settings",
      type: "object",
      properties: {
        reach: {
          "@type": "pres:MaxDistance", type: "integer", unit: "qunit:CentiM", minimum: 50, maximum: 600,
          multipleOf: 10,
        },
        hold: { "@type": "pres:HoldTime", type: "integer", unit: "qunit:SEC", minimum: 1, maximum: 3600 },
        light: { "@type": "pres:IndicatorLight", type: "boolean" },
        note: { type: "string", maxLength: 40 },
      },
      required: ["reach", "hold"],
    },
    regions: {
      "@type": "pres:AreaSet",
      type: "object",
      properties: {
        revision: { "@type": "pres:Revision", type: "integer", readOnly: true },
        areas: {
          type: "array",
          maxItems: 4,
          items: {
            type: "object",
            properties: {
              id: { "@type": "pres:AreaId", type: "string" },
              label: { "@type": "pres:AreaLabel", type: "string" },
              kind: { "@type": "pres:AreaKind", type: "string", enum: ["watch", "ignore", "doorway"] },
              shape: { const: "rectangle" },
              min: corner,
              max: corner,
            },
            required: ["id", "kind", "shape", "min", "max"],
          },
        },
      },
      required: ["areas"],
    },
    frame: {
      "@type": "pres:TargetFrame",
      type: "object",
      readOnly: true,
      observable: true,
      properties: {
        number: { "@type": "pres:ReportNumber", type: "integer" },
        targets: {
          type: "array",
          maxItems: 3,
          items: {
            type: "object",
            properties: {
              x: { "@type": "pres:SensorX", type: "integer", unit: "qunit:MilliM" },
              y: { "@type": "pres:SensorY", type: "integer", unit: "qunit:MilliM" },
            },
          },
        },
      },
    },
    presence: {
      "@type": "pres:Occupancy",
      type: "object",
      readOnly: true,
      observable: true,
      properties: { any: { "@type": "pres:AnyOccupancy", type: "boolean" } },
    },
    warmth: {
      "@type": "pres:Temperature", type: "integer", unit: "qunit:MilliDEG_C", readOnly: true,
    },
  },
  actions: {
    blink: {
      "@type": "pres:Identify",
      input: {
        type: "object",
        properties: { seconds: { type: "integer", minimum: 1, maximum: 60 } },
        required: ["seconds"],
      },
    },
    again: { "@type": "pres:Restart" },
  },
};

function option(name) {
  const at = process.argv.indexOf(name);
  return at < 0 ? undefined : process.argv[at + 1];
}

const asked = [];

function note(request, response, next) {
  if (request.url === "/asked") {
    response.end(JSON.stringify(asked));
    return;
  }
  asked.push({ method: request.method, path: request.url, letIn: Boolean(request.headers.authorization) });
  next();
}

// A client that has gone takes nothing else with it.
process.on("unhandledRejection", () => {});

async function main() {
  const secret = option("--secret");
  const scheme = secret === undefined ? "nosec" : "basic";
  const servient = new Servient();
  const server = new HttpServer({
    port: 0, address: "127.0.0.1", baseUri: option("--base-uri"), security: [{ scheme }], middleware: note,
  });
  servient.addServer(server);
  if (secret !== undefined) {
    const [username, password] = secret.split(":");
    servient.addCredentials({ [description.id]: { username, password } });
  }
  const WoT = await servient.start();
  const unit = await WoT.produce({
    ...description, securityDefinitions: { way: { scheme } }, security: ["way"],
  });
  serve(unit);
  await unit.expose();
  process.stdout.write(`${JSON.stringify({ url: `http://127.0.0.1:${server.getPort()}/invented-unit` })}\n`);
}

function serve(unit) {
  let number = 0;
  let tuning = SETTINGS;
  let regions = AREAS;
  const frame = () => ({ number, targets: [{ x: -1200 + number, y: 2400 }] });
  const said = {
    about: () => ({ serial: "NW-0001", board: "r2", module: "T" }),
    build: () => ({ version: "1.4.0" }),
    abilities: () => ({ range: 6.5, areas: 4 }),
    tuning: () => tuning,
    regions: () => regions,
    frame,
    presence: () => ({ any: true }),
    warmth: () => 21500,
  };
  for (const [name, value] of Object.entries(said)) {
    unit.setPropertyReadHandler(name, async () => value());
  }
  unit.setPropertyWriteHandler("tuning", async (given) => {
    tuning = await given.value();
  });
  unit.setPropertyWriteHandler("regions", async (given) => {
    regions = { revision: regions.revision + 1, ...(await given.value()) };
  });
  unit.setActionHandler("blink", async () => undefined);
  unit.setActionHandler("again", async () => {
    number = 0;
  });
  setInterval(() => {
    number += 1;
    unit.emitPropertyChange("frame");
  }, REPORT_EVERY_MS);
}

main().catch((reason) => {
  process.stderr.write(`${reason.stack}\n`);
  process.exitCode = 1;
});
