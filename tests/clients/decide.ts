// Decides a case through the generated types, reads the record again, and asks with a wrong mass.
// Usage: node decide.js ADDRESS CASE.json; prints one JSON object.
import { readFileSync } from "node:fs";
import createClient from "openapi-fetch";
import type { components, paths } from "./api.js";

const [address, file] = process.argv.slice(2);
if (address === undefined || file === undefined) throw new Error("usage: ADDRESS CASE.json");

const client = createClient<paths>({ baseUrl: address });
const body: components["schemas"]["Case"] = JSON.parse(readFileSync(file, "utf8"));

const decided = await client.POST("/v1/decisions", { body });
if (decided.data === undefined) throw new Error(JSON.stringify(decided.error));
if (typeof decided.data === "string") throw new Error("not JSON");
const id = decided.data.id;
if (id === null) throw new Error("not recorded");

const read = await client.GET("/v1/decisions/{id}", { params: { path: { id } } });

const aircraft = { ...body.aircraft, mass_kg: 1 };
const refused = await client.POST("/v1/decisions", { body: { ...body, aircraft } });

console.log(
  JSON.stringify({
    verdict: decided.data.verdict,
    aerodrome: decided.data.action.aerodrome,
    same: JSON.stringify(read.data) === JSON.stringify(decided.data),
    refused: refused.error?.errors[0]?.pointer,
  }),
);
