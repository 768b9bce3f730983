// The form of a case: load, fill in, be told, decide.

import { add, collect, fill, itemsOf, keptIn, number, placeOf, valueOf } from "./case.js";
import { address, ask, element, wrong } from "./ask.js";
import { goTo, placed, write } from "./faults.js";
import { oneAtATime } from "./turns.js";
import { toCorrect, toKnow } from "./summary.js";
import { watchFailures } from "./failures.js";
import { watchPlaces } from "./places.js";
import { watchReports } from "./reports.js";

const QUIET_MS = 600;

/** @param {string} id */
const byId = (id) => /** @type {HTMLElement} */ (document.getElementById(id));
/** @param {string} id */
const fieldOf = (id) => /** @type {HTMLInputElement} */ (byId(id));

const form = /** @type {HTMLFormElement} */ (byId("case"));
const told = byId("told");
const asJson = /** @type {HTMLDetailsElement} */ (byId("as-json"));
/** Fields that a person has left once: what is wrong there is told. @type {WeakSet<Element>} */
const left = new WeakSet();
let pressed = false;
/** @type {import("./faults.js").Fault[]} */
let faults = [];
/** @type {{unknowns: string[], assumptions: any[]}} */
let known = { unknowns: [], assumptions: [] };
let trouble = "";
let deciding = false;
let timer = 0;
/** One key for as long as the same case is being sent. */
let sent = { body: "", key: "" };
/** The case as it was loaded or decided: what differs from it would be lost. */
let safe = "";

/** The case as it stands. @returns {any} */
function present() {
  const body = collect(form);
  if (!body.failures?.length && !fieldOf("nothing-failed").checked) delete body.failures;
  return body;
}

const isUnsaved = () => JSON.stringify(present()) !== safe;

const mayBeReplaced = () => !isUnsaved() || window.confirm("What you have typed is not decided and would be lost. Go on?");

/** @param {string} text */
function say(text) {
  told.textContent = text;
}

/** @param {import("./ask.js").Answer} answer */
function sayWhatWentWrong(answer) {
  told.replaceChildren(wrong(answer));
  if (answer.status !== 401) return;
  const there = element("a", { href: address("/sign-in"), target: "_blank", rel: "noopener" }, "Sign in in another tab");
  told.append(" ", there, ", then go on here: what you have typed stays.");
}

/** @param {any} body @param {string} words */
function load(body, words) {
  fill(form, body);
  fieldOf("nothing-failed").checked = Array.isArray(body.failures) && body.failures.length === 0;
  pressed = false;
  say(words);
  tellKept();
  form.dispatchEvent(new Event("loaded"));
  safe = JSON.stringify(present());
  changed();
}

/** @param {string} name */
async function loadDemo(name) {
  const answer = await ask("GET", "/v1/demos");
  const demo = answer.told?.demos?.find((/** @type {any} */ each) => each.name === name);
  if (answer.status !== 200) sayWhatWentWrong(answer);
  else if (!demo) say(`There is no demo ${name}.`);
  else load(demo.request, `Demo: ${demo.title}. ${demo.meaning}`);
}

/** @param {string} id */
async function loadStored(id) {
  const answer = await ask("GET", `/v1/decisions/${encodeURIComponent(id)}/request`);
  if (answer.status === 200) load(answer.told, `The case of decision ${id}, as it was decided.`);
  else sayWhatWentWrong(answer);
}

function tellKept() {
  const box = byId("kept");
  const found = keptIn(form);
  const lines = found.map(({ pointer, value, forget }) => {
    const meaning = document.querySelector(`#written [data-path="${CSS.escape(pointer.slice(1))}"]`)?.textContent;
    const remove = element("button", { type: "button", class: "small" }, "Remove");
    remove.addEventListener("click", () => {
      forget();
      tellKept();
      changed();
    });
    const text = JSON.stringify(value);
    const shown = text.length > 200 ? `${text.slice(0, 200)} …` : text;
    return element("li", {}, element("b", {}, pointer), ` ${meaning ?? ""} `, element("code", {}, shown), " ", remove);
  });
  box.hidden = found.length === 0;
  const count = box.querySelector("summary span");
  if (count) count.textContent = found.length === 1 ? "1 part" : `${found.length} parts`;
  box.querySelector("ul")?.replaceChildren(...lines);
}

/** @param {import("./case.js").Place} place */
const isTold = (place) => pressed || left.has(place.control);

/** @param {string} pointer */
const nameAt = (pointer) => placeOf(form, pointer)?.label ?? pointer.split("/").at(-1)?.replaceAll("_", " ") ?? "";

/** Faults, the summary and the note at the button, as they are known. */
function tell() {
  const found = placed(form, faults);
  write(form, found, isTold);
  const box = byId("summary");
  const lines = [...toCorrect(found), ...toKnow(known.unknowns, known.assumptions, nameAt)];
  if (trouble) lines.push(element("li", {}, trouble));
  const list = element("ul", {}, ...lines);
  if (!box.firstElementChild?.isEqualNode(list)) box.replaceChildren(list); // else it would be read out again
  const first = found.find(({ place }) => place);
  byId("decide-note").textContent = first ? "now goes to the first field to correct" : "";
}

/** Whether nothing has been given yet: then there is nothing to be asked. */
const isEmpty = () =>
  ![...form.querySelectorAll("[data-control]")].some((each) => [valueOf(/** @type {any} */ (each)) ?? []].flat().length) &&
  !form.querySelector("[data-item]") && !fieldOf("nothing-failed").checked && keptIn(form).length === 0;

/** What is required of a case of which nothing is given. @returns {import("./faults.js").Fault[]} */
const lacking = () =>
  [...form.querySelectorAll("[data-control][aria-required]")]
    .filter((each) => valueOf(/** @type {any} */ (each)) === undefined)
    .map((each) => ({ pointer: `/${each.getAttribute("data-control")}`, code: "required", message: "", accepted: "" }));

function changed() {
  for (const each of form.querySelectorAll("details.more")) {
    const given = [...each.querySelectorAll("[data-control]")].filter((control) => valueOf(/** @type {any} */ (control)) !== undefined);
    const count = each.querySelector(":scope > summary .given");
    if (count) count.textContent = given.length ? `(${given.length} given)` : "";
  }
  if (asJson.open) tellJson();
  clearTimeout(timer);
  timer = window.setTimeout(check.now, QUIET_MS);
}

function tellJson() {
  const text = asJson.querySelector("pre");
  if (text) text.textContent = JSON.stringify(present(), null, 1);
}

/** What the service would say of the case: decided, but neither recorded nor shown. */
const check = oneAtATime(async () => {
  if (isEmpty()) {
    heard({ status: 422, told: { errors: lacking() }, headers: new Headers() });
    return;
  }
  const body = present();
  if (body.weather?.fetch) body.weather.fetch = false; // only once it is decided
  const answer = await ask("POST", "/v1/decisions?record=false", body);
  if (!deciding) heard(answer);
});

/** @param {import("./ask.js").Answer} answer */
function heard(answer) {
  const told = answer.told ?? {};
  faults = answer.status === 422 ? (told.errors ?? []) : [];
  known = answer.status === 200 ? told : { unknowns: [], assumptions: [] };
  trouble = answer.status === 200 || faults.length ? "" : wrong(answer);
  tell();
}

async function decide() {
  if (deciding) return;
  deciding = true;
  clearTimeout(timer);
  const body = present();
  const text = JSON.stringify(body);
  if (sent.body !== text) sent = { body: text, key: newKey() };
  say("Deciding ...");
  const answer = await ask("POST", "/v1/decisions", body, { headers: { "Idempotency-Key": sent.key } });
  if (answer.status === 201) {
    say("Decided.");
    await check.rest();
    safe = JSON.stringify(present());
    window.location.assign(address(`/v1/decisions/${answer.told.id}`));
    return;
  }
  deciding = false;
  pressed = true;
  heard(answer);
  sayWhatWentWrong(answer);
  if (answer.status !== 0) sent = { body: "", key: "" };
  const first = placed(form, faults).find(({ place }) => place)?.place;
  if (first) goTo(first.control);
}

/** The moment now, by the service's clock, to the minute that has begun. */
async function now() {
  const answer = await ask("GET", "/healthz");
  const told = new Date(answer.headers.get("Date") ?? "");
  if (Number.isNaN(told.getTime())) return sayWhatWentWrong(answer);
  fieldOf("c-as_of").value = told.toISOString().slice(0, 16).replace("T", " ");
  fieldOf("c-as_of").dispatchEvent(new Event("input", { bubbles: true }));
}

function newKey() {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  return [...bytes].map((each) => each.toString(16).padStart(2, "0")).join("");
}

/** @param {Event} event */
function clicked(event) {
  const button = /** @type {Element} */ (event.target).closest("button");
  const list = /** @type {HTMLElement | null} */ (button?.closest("[data-list]") ?? null);
  if (!button || !list) return;
  if ("add" in button.dataset) {
    const item = add(list);
    goTo(/** @type {HTMLElement} */ (item.querySelector("[data-control]") ?? item));
  } else if ("remove" in button.dataset) {
    const items = itemsOf(list);
    const at = items.findIndex((item) => item.contains(button));
    items[at].remove();
    number(list);
    const next = itemsOf(list)[at] ?? itemsOf(list)[at - 1];
    (next?.querySelector("legend") ?? list).focus();
    form.dispatchEvent(new Event("input"));
  }
}

form.addEventListener("submit", (event) => {
  event.preventDefault();
  void decide();
});
form.addEventListener("click", clicked);
form.addEventListener("input", changed);
form.addEventListener("change", changed);
form.addEventListener("focusout", (event) => {
  const control = /** @type {Element} */ (event.target).closest("[data-control]");
  if (control && valueOf(/** @type {any} */ (control)) !== undefined) left.add(control);
});
byId("load").addEventListener("click", () => {
  const name = fieldOf("demo").value;
  const id = fieldOf("stored").value.trim();
  if (!id && !name) say("Choose a demo, or give the id of a decision.");
  else if (!mayBeReplaced()) say("What you have typed stays.");
  else if (id) void loadStored(id);
  else void loadDemo(name);
});
byId("demo").addEventListener("change", () => {
  const name = fieldOf("demo").value;
  if (name && mayBeReplaced()) void loadDemo(name);
});
asJson.addEventListener("toggle", tellJson);
document.querySelector('a[href="#as-json"]')?.addEventListener("click", () => (asJson.open = true));
byId("now").addEventListener("click", () => void now());
byId("empty").addEventListener("click", () => {
  if (mayBeReplaced()) load({}, "An empty form.");
});
window.addEventListener("beforeunload", (event) => {
  if (isUnsaved()) event.preventDefault();
});

watchFailures(form);
watchPlaces(form);
watchReports(form);
form.hidden = false;
byId("no-script").hidden = true;
safe = JSON.stringify(present());
if (form.dataset.from) void loadStored(form.dataset.from);
else if (form.dataset.demo) void loadDemo(form.dataset.demo);
else changed();
