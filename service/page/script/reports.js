// Reports as they are typed: every group above its meaning, what could not be read marked, and what
// follows from it. The service reads them; nothing is read here.

import { ask, element } from "./ask.js";
import { reportsIn, valueOf } from "./case.js";
import { hourMinute } from "./clock.js";
import { oneAtATime } from "./turns.js";

/**
 * @typedef {{text: string, part: string, meaning: string | null}} Token
 * @typedef {{start: string, end: string}} Span
 * @typedef {{kind: string | null, station: string | null, issued_at: string | null, valid: Span | null,
 *   tokens: Token[], consequence: string | null, problems: string[]}} Report
 */

const QUIET_MS = 300;
const MINUTE_MS = 60_000;
const LONG_MIN = 180;
const MONTHS = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];

/** @param {HTMLElement} form */
export function watchReports(form) {
  const field = /** @type {HTMLTextAreaElement} */ (form.querySelector('[data-kind="reports"]'));
  const asOf = /** @type {HTMLInputElement} */ (form.querySelector('[data-control="as_of"]'));
  const box = /** @type {HTMLElement} */ (document.getElementById("decoded"));
  const count = /** @type {HTMLElement} */ (document.getElementById("decoded-count"));
  let timer = 0;
  let shown = "";

  const look = oneAtATime(async () => {
    const reports = reportsIn(field.value);
    const at = String(valueOf(asOf) ?? "");
    const key = JSON.stringify([reports, at]);
    if (key === shown) return;
    const answer = reports.length ? await decoded(reports, at) : [];
    if (answer) tell(answer, at);
    shown = answer ? key : "";
  });
  /** @param {Report[]} reports @param {string} at */
  const tell = (reports, at) => {
    box.replaceChildren(...reports.map((each) => article(each, at)));
    const unread = reports.filter((each) => each.consequence).length;
    const words = unread ? `, ${unread} of them not read in full` : ", all read";
    count.textContent = reports.length ? `${reports.length === 1 ? "1 report" : `${reports.length} reports`}${words}.` : "";
  };
  const later = () => {
    clearTimeout(timer);
    timer = window.setTimeout(look.now, QUIET_MS);
  };
  field.addEventListener("input", later);
  asOf.addEventListener("input", later);
  form.addEventListener("loaded", look.now);
  look.now();
}

/** @param {string[]} reports @param {string} at @returns {Promise<Report[] | null>} */
async function decoded(reports, at) {
  let answer = await ask("POST", "/v1/weather/decode", { reports, received_at: at });
  if (answer.status === 422 && answer.told?.errors?.every(isOfTime)) {
    // Without a moment of the case, as they read when they come in now, by the service's clock.
    const now = new Date(answer.headers.get("Date") ?? "").toISOString();
    answer = await ask("POST", "/v1/weather/decode", { reports, received_at: now });
  }
  return answer.status === 200 ? answer.told.reports : null;
}

/** @param {{pointer: string}} fault */
const isOfTime = ({ pointer }) => pointer === "/received_at";

/** @param {Report} report @param {string} at */
function article(report, at) {
  const head = element("p", { class: "head" }, element("b", {}, report.station ?? "Not read"), ` ${when(report, at)}`);
  if (report.consequence) head.append(": ", element("b", {}, report.consequence));
  const tokens = report.tokens.filter((each) => each.part !== "header" || each.meaning === null);
  const made = element("div", report.consequence ? { class: "report unread" } : { class: "report" }, head);
  if (tokens.length) made.append(element("dl", { class: "tokens" }, ...tokens.map(group)));
  return made;
}

/** @param {Token} token */
function group({ text, meaning, part }) {
  const read = meaning !== null;
  const term = element("dt", {}, text);
  const told = element("dd", {}, read ? meaning : "✕ not read");
  return element("div", { class: read ? part : "not-read" }, term, told);
}

/** What it is and of when, beside the moment of the case. @param {Report} report @param {string} at */
function when({ kind, issued_at, valid }, at) {
  if (!issued_at) return "";
  if (kind === "TAF" && valid) return `forecast ${moment(valid.start)} to ${moment(valid.end)}`;
  const age = Math.floor((Date.parse(at) - Date.parse(issued_at)) / MINUTE_MS);
  if (Number.isNaN(age)) return `seen ${moment(issued_at)}`;
  const told = age < 0 ? `${-age} min after the moment of the case` : `${age} min before`;
  return `seen ${hourMinute(issued_at)}, ${told}${age > LONG_MIN ? ": old" : ""}`;
}

/** @param {string} instant */
const moment = (instant) => `${Number(instant.slice(8, 10))} ${MONTHS[Number(instant.slice(5, 7)) - 1]} ${hourMinute(instant)}`;
