// "Before you decide": what is to be corrected, what is not known, what was taken by default.

import { element } from "./ask.js";
import { goTo, said } from "./faults.js";

/**
 * @typedef {import("./faults.js").Placed} Placed
 * @typedef {{field: string, value: unknown, text: string}} Taken
 */

const SHOWN = 3;

/** @param {Placed[]} faults @returns {HTMLElement[]} */
export function toCorrect(faults) {
  const missing = faults.filter(({ fault }) => fault.code === "required");
  const wrong = faults.filter(({ fault }) => fault.code !== "required");
  return [
    ...line("▲", wrong.length, "must be corrected", wrong),
    ...line("□", missing.length, "still to be given", missing),
  ];
}

/** @param {string} mark @param {number} count @param {string} words @param {Placed[]} faults */
function line(mark, count, words, faults) {
  if (!count) return [];
  const links = new Map(faults.map((each) => [each.place?.control ?? said(each.fault), link(each)]));
  const told = links.size === 1 ? "1 field" : `${links.size} fields`;
  return [element("li", {}, element("b", {}, `${mark} ${told} ${words}: `), ...between([...links.values()]))];
}

/** @param {(Node | string)[]} parts @returns {(Node | string)[]} */
const between = (parts) => parts.flatMap((part, at) => (at ? [", ", part] : [part]));

/** @param {Placed} each @returns {Node | string} */
function link({ fault, place }) {
  if (!place) return fault.pointer ? `${fault.pointer}: ${said(fault)}` : said(fault);
  const made = element("a", { href: `#${place.control.id}` }, nameOf(place));
  made.addEventListener("click", (event) => {
    event.preventDefault();
    goTo(place.control);
  });
  return made;
}

/** @param {import("./case.js").Place} place */
function nameOf({ control, label }) {
  const item = control.closest("[data-item]")?.querySelector("legend")?.textContent;
  const words = label.split(",")[0];
  return item ? `${words} of ${item}` : words;
}

/**
 * @param {string[]} unknowns @param {Taken[]} taken @param {(pointer: string) => string} nameAt - Name and unit of a field.
 * @returns {HTMLElement[]}
 */
export function toKnow(unknowns, taken, nameAt) {
  const lines = [];
  if (unknowns.length) {
    const texts = unknowns.map((text) => element("li", {}, text));
    lines.push(element("li", {}, element("b", {}, "? Not known, so never a plain GO:"), element("ul", {}, ...texts)));
  }
  if (taken.length) {
    const first = taken.slice(0, SHOWN).map(({ field, value }) => shown(nameAt(field), value));
    const more = taken.length > SHOWN ? " …" : "";
    const head = `Taken by default, ${taken.length === 1 ? "1 value" : `${taken.length} values`}: `;
    const all = element("details", {}, element("summary", {}, "show all"), rows(taken));
    lines.push(element("li", {}, head, first.join(", "), more, all));
  }
  return lines;
}

/** @param {Taken[]} taken */
const rows = (taken) => element("ul", {}, ...taken.map(({ text }) => element("li", {}, text)));

/** Name, value and unit, from a name with its unit behind a comma. @param {string} name @param {unknown} value */
function shown(name, value) {
  const [words, unit = ""] = name.split(", ");
  return `${words} ${value === true ? "yes" : value === false ? "no" : value} ${unit}`.trim();
}
