// What has failed: found by part, system or lost function, told with what it takes and what is then
// for good, and added to the case.

import { add, fill, itemsOf, number } from "./case.js";
import { element } from "./ask.js";
import { offer, profileOf } from "./loaded.js";

/** @typedef {import("./loaded.js").Failure} Failure */

const MOST_SHOWN = 6;
const MOST_TAKEN = 3;
const URGENCY = new Map([
  ["nearest_suitable", "Land at the nearest suitable aerodrome."],
  ["as_soon_as_possible", "Land as soon as possible."],
]);

/** @param {string} id */
const byId = (id) => /** @type {HTMLInputElement} */ (document.getElementById(id));
/** @type {Failure[]} */
let catalogue = [];

/** @param {HTMLElement} form */
export function watchFailures(form) {
  const list = /** @type {HTMLElement} */ (form.querySelector('[data-list="failures"]'));
  const profile = byId("c-aircraft-profile");
  const search = byId("search");
  const look = async () => {
    const asked = profile.value.trim();
    const found = await profileOf(asked);
    if (asked !== profile.value.trim()) return;
    catalogue = found?.failures ?? [];
    offer("detents", (found?.detents ?? []).map(({ id }) => [id, ""]));
    tellFound(list, search.value);
    tellChosen(list);
  };
  profile.addEventListener("change", look);
  form.addEventListener("loaded", look);
  form.addEventListener("input", () => tellChosen(list));
  search.addEventListener("input", () => tellFound(list, search.value));
  search.addEventListener("keydown", (event) => {
    if (event.key !== "Enter") return;
    event.preventDefault(); // it is no word to decide
    /** @type {HTMLElement | null} */ (document.querySelector("#found button"))?.focus();
  });
  void look();
}

/** Every word in its id, title, group or in what it takes away. @param {Failure} failure @param {string[]} words */
const isFound = (failure, words) => words.every((word) => textOf(failure).includes(word));

/** @param {Failure} failure */
const textOf = ({ id, title, group, takes_away }) =>
  [id, title, group, ...takes_away.map((each) => each.title)].join(" ").replaceAll(/[-_]/g, " ").toLowerCase();

/** @param {string} text */
const wordsOf = (text) => text.toLowerCase().replaceAll(/[-_]/g, " ").split(/\s+/).filter(Boolean);

/** @param {HTMLElement} list @param {string} text */
function tellFound(list, text) {
  const words = wordsOf(text);
  const found = words.length ? catalogue.filter((each) => isFound(each, words)) : [];
  found.sort((one, other) => other.takes_away.length - one.takes_away.length);
  const rows = found.slice(0, MOST_SHOWN).map((each) => hit(list, each, words));
  byId("found").replaceChildren(...rows);
  byId("found-count").textContent = countOf(found.length, text.trim());
}

/** @param {number} count @param {string} text */
function countOf(count, text) {
  if (!catalogue.length) return "Give the profile of the aircraft first: its failures are searched.";
  if (!text) return `${catalogue.length} failures can be reported for this profile.`;
  const more = count > MOST_SHOWN ? `, ${MOST_SHOWN} shown; give another word` : "";
  return `${count || "No"} ${count === 1 ? "failure" : "failures"} with “${text}”${more}, most taken away first.`;
}

/** @param {HTMLElement} list @returns {string[]} */
const chosen = (list) => itemsOf(list).map((item) => idIn(item).value.trim());

/** @param {Element} item @returns {HTMLInputElement} */
const idIn = (item) => /** @type {HTMLInputElement} */ (item.querySelector('[data-control="id"]'));

/** @param {HTMLElement} list @param {Failure} failure @param {string[]} words */
function hit(list, failure, words) {
  const told = element("p", {}, ...consequences(failure, words));
  const row = element("li", {}, element("b", {}, failure.title), told);
  if (chosen(list).includes(failure.id)) row.append(element("span", { class: "chosen" }, "chosen"));
  else row.append(adder(list, failure));
  return row;
}

/** @param {HTMLElement} list @param {Failure} failure */
function adder(list, failure) {
  const button = element("button", { type: "button", class: "small", "aria-label": `Add: ${failure.title}` }, "add");
  button.addEventListener("click", () => {
    const item = add(list);
    fill(item, { id: failure.id });
    byId("nothing-failed").checked = false;
    byId("search").value = "";
    list.dispatchEvent(new Event("input", { bubbles: true }));
    tellFound(list, "");
    byId("found-count").textContent = `Added: ${failure.title}.`;
    const asks = [...item.querySelectorAll("[data-control]")].find((each) => isAsked(each, failure));
    /** @type {HTMLElement} */ (asks ?? byId("search")).focus();
  });
  return button;
}

/** What a failure takes away and what is then for good. @param {Failure} failure @param {string[]} words @returns {(Node | string)[]} */
function consequences({ takes_away, cannot_be_undone, urgency, cautions }, words) {
  const named = takes_away.map(({ title, degraded }) => `${lowered(title)}${degraded ? " in part" : ""}`);
  const first = [...named].sort((one, other) => Number(matches(other, words)) - Number(matches(one, words)));
  const more = named.length > MOST_TAKEN ? `, ${named.length - MOST_TAKEN} more` : "";
  /** @type {(Node | string)[]} */
  const told = [named.length ? `takes ${first.slice(0, MOST_TAKEN).join(", ")}${more}. ` : `takes no function by itself. ${cautions[0] ?? ""} `];
  if (cannot_be_undone.length) told.push(element("b", {}, `Cannot be undone: to ${cannot_be_undone.join("; to ")}. `));
  if (URGENCY.has(urgency)) told.push(element("b", {}, URGENCY.get(urgency) ?? ""));
  return told;
}

/** Within a sentence; letters that stand for words stay as they are. @param {string} title */
const lowered = (title) => (/^[A-Z][a-z]/.test(title) || /^A /.test(title) ? title[0].toLowerCase() + title.slice(1) : title);

/** @param {string} title @param {string[]} words */
const matches = (title, words) => words.some((word) => title.toLowerCase().includes(word));

/** Whether a report of the failure says this. @param {Element} control @param {Failure} failure */
function isAsked(control, failure) {
  const asked = { detent: failure.needs_detent, position: failure.needs_position, quantity_kg: failure.takes_quantity };
  return Boolean(asked[/** @type {keyof typeof asked} */ (control.getAttribute("data-control"))]);
}

/** The chosen ones by their titles, each with the fields that its report has. @param {HTMLElement} list */
function tellChosen(list) {
  number(list);
  for (const item of itemsOf(list)) {
    const failure = catalogue.find(({ id }) => id === idIn(item).value.trim());
    for (const control of /** @type {NodeListOf<HTMLInputElement>} */ (item.querySelectorAll("[data-control]"))) {
      const field = control.closest(".field");
      const shown = !failure || control.value !== "" || isAsked(control, failure);
      if (field instanceof HTMLElement) field.hidden = !shown || Boolean(failure && control === idIn(item));
    }
    let told = /** @type {HTMLElement | null} */ (item.querySelector(".consequences"));
    if (!told) {
      told = element("p", { class: "consequences" });
      item.querySelector(".fields")?.before(told);
    }
    const legend = item.querySelector("legend");
    if (failure && legend) legend.textContent = failure.title;
    const texts = failure ? consequences(failure, []) : ["not in the catalogue of this profile"];
    const now = texts.map((each) => (typeof each === "string" ? each : each.textContent)).join("");
    if (told.textContent !== now) told.replaceChildren(...texts);
  }
  const none = byId("nothing-failed").closest(".field");
  if (none instanceof HTMLElement) none.hidden = itemsOf(list).length > 0;
}
