// The service's clock. Moments are milliseconds since 1970 (UTC) as the service counts them; between
// two of its answers the steady count of the page goes on. The wall clock of the browser is never
// shown or counted by: it only tells that the machine has slept, and then the service is asked.

import { ask } from "./ask.js";

const MINUTE_MS = 60_000;
const OK = 200;
const ASKED_EACH_MS = 5 * MINUTE_MS; // [ASSUMED] the steady count drifts by less than a second
const SLEPT_MS = 2_000;
const HOURS_FROM_MIN = 180;
const DAYS_FROM_H = 48;

export class ServiceClock {
  /** @type {number | null} */
  #ahead = null;
  #asked = 0;
  #wall = Date.now() - performance.now();

  /** The present moment; null until the service has told one. */
  get now() {
    return this.#ahead === null ? null : performance.now() + this.#ahead;
  }

  /**
   * Take in a moment that the service has told. How long its answer was on the way is not known: it
   * is counted as passed, so that no time left is ever told too long.
   *
   * @param {number} moment
   * @param {number} sent - `performance.now()` when it was asked for.
   */
  heard(moment, sent) {
    if (!Number.isFinite(moment)) return;
    this.#ahead = moment - sent;
    this.#asked = performance.now();
  }

  /** Ask the service for its time. @returns {Promise<boolean>} Whether it answered. */
  async ask() {
    this.#asked = performance.now(); // one that does not answer is not asked each second
    const sent = performance.now();
    const answer = await ask("GET", "/v1/time", undefined);
    if (answer.status !== OK) return false;
    this.heard(Date.parse(answer.told.now), sent);
    return true;
  }

  /** Whether the machine has slept since the last call: its two clocks have come apart. */
  hasSlept() {
    const wall = Date.now() - performance.now();
    const slept = Math.abs(wall - this.#wall) > SLEPT_MS;
    this.#wall = wall;
    return slept;
  }

  /** Whether it is time to ask again. */
  isDue() {
    return performance.now() - this.#asked > ASKED_EACH_MS;
  }
}

/** Whole minutes until a moment, never more than there are. @param {number} at @param {number} now */
export const leftMin = (at, now) => Math.max(0, Math.floor((at - now) / MINUTE_MS));

/** Whole minutes since a moment, never fewer than have passed. @param {number} at @param {number} now */
export const passedMin = (at, now) => Math.max(0, Math.ceil((now - at) / MINUTE_MS));

/**
 * A number of minutes as a figure and its unit, as the service writes it.
 *
 * @param {number} minutes
 * @returns {[string, string]}
 */
export function span(minutes) {
  if (minutes < HOURS_FROM_MIN) return [String(minutes), "min"];
  const hours = Math.floor(minutes / 60);
  return hours < DAYS_FROM_H ? [String(hours), "h"] : [String(Math.floor(hours / 24)), "days"];
}

/** Hour and minute in UTC. @param {number | string} moment - milliseconds, or an instant as text */
export const hourMinute = (moment) => `${new Date(moment).toISOString().slice(11, 16)}Z`;

/** Put a text in place, if it is another. @param {Element | null} place @param {string} text */
export function write(place, text) {
  if (place !== null && place.textContent !== text) place.textContent = text;
}
