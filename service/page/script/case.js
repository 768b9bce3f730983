// Between a case as JSON and the controls of the form. The controls come from the declaration of
// the request; nothing here knows the name of a member.

/**
 * A scope is the form itself or an item of a list: paths of controls and lists are of their scope.
 *
 * @typedef {HTMLElement} ScopeElement
 * @typedef {HTMLInputElement | HTMLSelectElement | HTMLTextAreaElement | HTMLFieldSetElement} Control
 * @typedef {{control: HTMLElement, fault: HTMLElement, label: string}} Place
 */

/** What a scope was filled with and has no control for. @type {WeakMap<ScopeElement, any>} */
const kept = new WeakMap();
/** Paths of what was given by its name alone, by scope. @type {WeakMap<ScopeElement, Set<string>>} */
const byName = new WeakMap();
const NUMBER = /^-?(0|[1-9]\d*)(\.\d+)?([eE][+-]?\d+)?$/;
const SHORT_INSTANT = /^(\d{4}-\d{2}-\d{2})[T ](\d{2}:\d{2}(?::\d{2})?)Z?$/;
const HEADER = /^\s*(METAR|SPECI|TAF|(COR |AMD )?[A-Z][A-Z0-9]{3} \d{6}Z)(\s|$)/i;
let stamped = 0;

/** @param {Element} element @returns {ScopeElement} */
const scopeOf = (element) =>
  /** @type {HTMLElement} */ (element.parentElement?.closest("[data-item], form"));

/** @param {ScopeElement} scope @param {string} selector @returns {HTMLElement[]} */
const own = (scope, selector) =>
  [.../** @type {NodeListOf<HTMLElement>} */ (scope.querySelectorAll(selector))].filter(
    (each) => scopeOf(each) === scope,
  );

/** @param {ScopeElement} scope @returns {Control[]} */
export const controlsOf = (scope) => /** @type {Control[]} */ (own(scope, "[data-control]"));
/** @param {ScopeElement} scope */
export const listsOf = (scope) => own(scope, "[data-list]");
/** @param {HTMLElement} list @returns {HTMLElement[]} */
export const itemsOf = (list) =>
  /** @type {HTMLElement[]} */ ([...(list.querySelector(".items")?.children ?? [])]);

/** @param {any} object @param {string[]} path */
const at = (object, path) => path.reduce((found, name) => found?.[name], object);

/** @param {any} object @param {string[]} path @param {unknown} value */
function put(object, path, value) {
  const [name, ...rest] = path;
  if (rest.length === 0) object[name] = value;
  else put((object[name] ??= {}), rest, value);
}

/** Takes a member away, and the objects that have nothing left. @param {any} object @param {string[]} path */
function take(object, path) {
  const [name, ...rest] = path;
  if (rest.length === 0 || take(object[name], rest)) delete object[name];
  return Object.keys(object).length === 0;
}

/**
 * What a person wrote, as JSON has it; what is no number is sent as it is, for the service to judge.
 *
 * @type {Record<string, (text: string) => unknown>}
 */
const READ = {
  number: (text) => (NUMBER.test(text) ? Number(text) : text),
  text: (text) => text,
  choice: (text) => text,
  flag: (text) => text === "true",
  instant: (text) => {
    const found = SHORT_INSTANT.exec(text);
    return found ? `${found[1]}T${found[2].length === 5 ? `${found[2]}:00` : found[2]}Z` : text;
  },
  texts: (text) => text.split(",").map((each) => each.trim()).filter(Boolean),
  thirds: (text) => {
    const each = text.split("/").map((third) => READ.number(third.trim()));
    return each.length === 1 ? each[0] : each;
  },
};

/** @type {Record<string, (value: any) => string | null>} */
const WRITTEN = {
  number: (value) => (typeof value === "number" ? String(value) : null),
  text: (value) => (typeof value === "string" ? value : null),
  choice: (value) => (typeof value === "string" ? value : null),
  flag: (value) => (typeof value === "boolean" ? String(value) : null),
  instant: (value) => (typeof value === "string" ? shortened(value) : null),
  texts: (value) => (isTexts(value) && !value.some((each) => each.includes(",")) ? value.join(", ") : null),
  thirds: (value) => (Array.isArray(value) ? value.join("/") : typeof value === "number" ? String(value) : null),
  reports: (value) => (isTexts(value) ? pasted(value) : null),
};

/** Without what says nothing, where it can be put back as it was. @param {string} text */
function shortened(text) {
  const short = text.replace("T", " ").replace(/:00Z$/, "");
  return READ.instant(short) === text ? short : text;
}

/** @param {unknown} value @returns {value is string[]} */
const isTexts = (value) => Array.isArray(value) && value.every((each) => typeof each === "string");

/** Reports as one text; null where they could not be told apart again. @param {string[]} reports */
function pasted(reports) {
  const tried = [reports.join("\n"), reports.join("\n\n")];
  return tried.find((text) => JSON.stringify(reportsIn(text)) === JSON.stringify(reports)) ?? null;
}

/**
 * The reports of a pasted text: one begins at its header, after an empty line, or after an end sign.
 *
 * @param {string} text @returns {string[]}
 */
export function reportsIn(text) {
  /** @type {string[]} */
  const found = [];
  let open = false;
  for (const line of text.split("\n")) {
    if (!line.trim()) open = false;
    else if (!open || HEADER.test(line)) found.push(line);
    else found[found.length - 1] += `\n${line}`;
    if (line.trim()) open = !line.trimEnd().endsWith("=");
  }
  return found.map((each) => each.trim());
}

/** @param {Control} control @returns {unknown} undefined: nothing is given */
export function valueOf(control) {
  const kind = control.dataset.kind ?? "";
  if (control instanceof HTMLFieldSetElement) {
    const chosen = [...control.querySelectorAll("input")].filter((each) => each.checked);
    return chosen.length ? chosen.map((each) => each.value) : undefined;
  }
  if (kind === "reports") return reportsIn(control.value);
  const text = control.value.trim();
  return text === "" ? undefined : READ[kind](text);
}

/** @param {Control} control @param {any} value @returns {boolean} Whether the control can show it. */
function show(control, value) {
  if (control instanceof HTMLFieldSetElement) return tick(control, value);
  const text = WRITTEN[control.dataset.kind ?? ""](value);
  control.value = text ?? "";
  return text !== null && control.value === text;
}

/** @param {HTMLFieldSetElement} control @param {any} value */
function tick(control, value) {
  const boxes = [...control.querySelectorAll("input")];
  const all = isTexts(value) && value.every((each) => boxes.some((box) => box.value === each));
  for (const box of boxes) box.checked = all && value.includes(box.value);
  return all && value.length > 0;
}

/** @param {Control} control */
function clear(control) {
  if (control instanceof HTMLFieldSetElement) for (const box of control.querySelectorAll("input")) box.checked = false;
  else control.value = "";
}

/** @param {ScopeElement} scope @param {string} key */
const words = (scope, key) => (scope.dataset[key] ?? "").split(" ").filter(Boolean);

/** The case, or the item, as it stands in the form. @param {ScopeElement} scope @returns {any} */
export function collect(scope) {
  const told = structuredClone(kept.get(scope) ?? {});
  for (const name of words(scope, "objects")) told[name] ??= {};
  for (const control of controlsOf(scope)) {
    const value = valueOf(control);
    if (value !== undefined) put(told, pathOf(control, "control"), value);
  }
  for (const list of listsOf(scope)) {
    const items = itemsOf(list).map(collect);
    if (items.length || "required" in list.dataset) put(told, pathOf(list, "list"), items);
  }
  const names = byName.get(scope) ?? new Set();
  for (const name of names) {
    const value = name ? told[name] : told;
    if (Object.keys(value).length === 1 && "icao" in value) {
      if (!name) return value.icao;
      told[name] = value.icao;
    }
  }
  return told;
}

/** @param {HTMLElement} element @param {string} key */
const pathOf = (element, key) => (element.dataset[key] ?? "").split("/");

/** Fills a scope; what has no control is kept and sent back. @param {ScopeElement} scope @param {any} value */
export function fill(scope, value) {
  const names = new Set();
  let rest = structuredClone(value);
  if (typeof rest === "string" && "named" in scope.dataset) {
    rest = { icao: rest };
    names.add("");
  } else {
    for (const name of words(scope, "named")) {
      if (typeof rest[name] !== "string") continue;
      rest[name] = { icao: rest[name] };
      names.add(name);
    }
  }
  byName.set(scope, names);
  for (const control of controlsOf(scope)) {
    const path = pathOf(control, "control");
    const given = at(rest, path);
    if (given === undefined || given === null) clear(control);
    else if (show(control, given)) take(rest, path);
    else clear(control);
  }
  for (const list of listsOf(scope)) {
    for (const item of itemsOf(list)) item.remove();
    const path = pathOf(list, "list");
    const given = at(rest, path);
    if (!Array.isArray(given) || !given.every((each) => fits(list, each))) continue;
    for (const each of given) fill(add(list), each);
    if (given.length) take(rest, path);
  }
  kept.set(scope, rest);
}

/** @param {HTMLElement} list @param {unknown} value */
const fits = (list, value) =>
  (typeof value === "object" && value !== null && !Array.isArray(value)) ||
  (typeof value === "string" && "named" in (itemOf(list)?.dataset ?? {}));

/** @param {HTMLElement} list */
const templateOf = (list) =>
  /** @type {HTMLTemplateElement} */ (document.getElementById(`t-${list.dataset.template}`));
/** @param {HTMLElement} list @returns {HTMLElement | null} */
const itemOf = (list) => templateOf(list).content.querySelector("[data-item]");

/** A new item at the end of a list, its ids its own. @param {HTMLElement} list @returns {HTMLElement} */
export function add(list) {
  const made = /** @type {DocumentFragment} */ (templateOf(list).content.cloneNode(true));
  const end = `-${(stamped += 1)}`;
  for (const each of made.querySelectorAll("[id]")) each.id += end;
  for (const label of made.querySelectorAll("label")) if (label.htmlFor) label.htmlFor += end;
  for (const name of ["aria-describedby", "aria-labelledby"]) {
    for (const each of made.querySelectorAll(`[${name}]`)) {
      const ids = (each.getAttribute(name) ?? "").split(" ");
      each.setAttribute(name, ids.map((id) => id + end).join(" "));
    }
  }
  const item = /** @type {HTMLElement} */ (made.querySelector("[data-item]"));
  list.querySelector(".items")?.append(item);
  number(list);
  return item;
}

/** Counts the items of a list in their legends. @param {HTMLElement} list */
export function number(list) {
  for (const [index, item] of itemsOf(list).entries()) {
    const legend = item.querySelector("legend");
    if (legend) {
      legend.dataset.word ??= legend.textContent ?? "";
      legend.textContent = `${legend.dataset.word} ${index + 1}`;
    }
  }
}

/**
 * Where on the form a JSON Pointer leads to; null: nowhere.
 *
 * @param {ScopeElement} form @param {string} pointer @returns {Place | null}
 */
export function placeOf(form, pointer) {
  if (!pointer.startsWith("/")) return null; // about the whole, or about no part of the body
  let scope = form;
  let path = pointer.split("/").slice(1).map((each) => each.replaceAll("~1", "/").replaceAll("~0", "~"));
  for (let deeper = true; deeper; ) {
    deeper = false;
    for (const list of listsOf(scope)) {
      const own = pathOf(list, "list");
      const item = itemsOf(list)[Number(path[own.length])];
      if (own.some((name, at) => name !== path[at]) || !item) continue;
      [scope, path, deeper] = [item, path.slice(own.length + 1), true];
      break;
    }
  }
  const joined = path.join("/");
  const found =
    controlsOf(scope).find((each) => `${joined}/`.startsWith(`${each.dataset.control}/`)) ??
    listsOf(scope).find((each) => each.dataset.list === joined) ??
    controlsOf(scope).find((each) => each.dataset.control?.startsWith(joined ? `${joined}/` : "")) ??
    null;
  const fault = found && document.getElementById(found.getAttribute("aria-describedby")?.split(" ").at(-1) ?? "");
  return found && fault ? { control: found, fault, label: found.dataset.label ?? "" } : null;
}

/** What of a case has no field, by pointer. @param {ScopeElement} scope @param {string} [pointer] @returns {{pointer: string, value: unknown, forget: () => void}[]} */
export function keptIn(scope, pointer = "") {
  const rest = kept.get(scope) ?? {};
  const found = leaves(rest, pointer, (path) => take(rest, path));
  for (const list of listsOf(scope)) {
    const path = `${pointer}/${list.dataset.list}`;
    found.push(...itemsOf(list).flatMap((item, index) => keptIn(item, `${path}/${index}`)));
  }
  return found;
}

/** @param {any} value @param {string} pointer @param {(path: string[]) => void} forget @param {string[]} path @returns {{pointer: string, value: unknown, forget: () => void}[]} */
function leaves(value, pointer, forget, path = []) {
  const written = document.querySelector(`#written [data-path="${CSS.escape(path.join("/"))}"]`);
  if (value === null || (typeof value === "object" && Object.keys(value).length === 0)) return [];
  if (typeof value !== "object" || Array.isArray(value) || written) return [{ pointer, value, forget: () => forget(path) }];
  return Object.entries(value).flatMap(([name, each]) => leaves(each, `${pointer}/${name}`, forget, [...path, name]));
}
