// The data that the service has loaded, asked for once: profiles, aerodromes.

import { ask, element } from "./ask.js";

/**
 * @typedef {{title: string, kind: string, degraded: boolean}} TakenAway
 * @typedef {{id: string, title: string, group: string, needs_detent: boolean, needs_position: boolean,
 *   takes_quantity: boolean, takes_away: TakenAway[], cannot_be_undone: string[], urgency: string,
 *   cautions: string[]}} Failure
 * @typedef {{id: string, detents: {id: string}[], failures: Failure[]}} Profile
 * @typedef {{icao: string, name: string, runways: {ident: string}[], approaches: {id: string, runway: string}[]}} Aerodrome
 */

/** @type {Map<string, Promise<any>>} */
const known = new Map();

/** What stands at an address; null where there is nothing. @param {string} path @returns {Promise<any>} */
function once(path) {
  const asked = known.get(path) ?? fetched(path);
  known.set(path, asked);
  return asked;
}

/** @param {string} path */
async function fetched(path) {
  const answer = await ask("GET", path);
  if (answer.status === 200) return answer.told;
  if (answer.status !== 404) known.delete(path); // it may be there the next time
  return null;
}

/** @param {string} id @returns {Promise<Profile | null>} */
export const profileOf = (id) => (id ? once(`/v1/profiles/${encodeURIComponent(id)}`) : Promise.resolve(null));

/** @returns {Promise<{icao: string, name: string}[]>} */
export const aerodromes = async () => (await once("/v1/aerodromes"))?.aerodromes ?? [];

/** @param {string} icao @returns {Promise<Aerodrome | null>} null: it is not loaded */
export async function aerodromeOf(icao) {
  const first = await once("/v1/aerodromes"); // of many a page: another one may be on the next
  const listed = (await aerodromes()).some((each) => each.icao === icao);
  const later = Boolean(first?.next_after) && /^[A-Z][A-Z0-9]{3}$/.test(icao);
  return listed || later ? once(`/v1/aerodromes/${icao}`) : null;
}

/** Offers words at every field that has this list. @param {string} id @param {[string, string][]} words */
export function offer(id, words) {
  const options = words.map(([value, label]) => element("option", label ? { value, label } : { value }));
  document.getElementById(id)?.replaceChildren(...options);
}
