// The service's own words about what is wrong, beside the field that they are about.

import { placeOf } from "./case.js";
import { element } from "./ask.js";

/**
 * @typedef {{pointer: string, code: string, message: string, accepted: string}} Fault
 * @typedef {{fault: Fault, place: import("./case.js").Place | null}} Placed
 */

/** @param {HTMLElement} form @param {Fault[]} faults @returns {Placed[]} In the order of the form. */
export function placed(form, faults) {
  const found = faults.map((fault) => ({ fault, place: placeOf(form, fault.pointer) }));
  return found.sort((one, other) => order(one.place?.control, other.place?.control));
}

/** @param {HTMLElement | undefined} one @param {HTMLElement | undefined} other */
function order(one, other) {
  if (!one || !other || one === other) return Number(Boolean(other)) - Number(Boolean(one));
  return one.compareDocumentPosition(other) & Node.DOCUMENT_POSITION_FOLLOWING ? -1 : 1;
}

/** What one fault says. @param {Fault} fault */
export const said = (fault) => `${fault.message}; accepted: ${fault.accepted}`;

/**
 * Writes each message under its field, the same one once, and takes away what stood there.
 *
 * @param {HTMLElement} form @param {Placed[]} faults @param {(place: import("./case.js").Place) => boolean} isTold
 */
export function write(form, faults, isTold) {
  /** @type {Map<HTMLElement, {label: string, control: HTMLElement, texts: Set<string>}>} */
  const wanted = new Map();
  for (const { fault, place } of faults) {
    if (!place || !isTold(place)) continue;
    const there = wanted.get(place.fault) ?? { label: place.label, control: place.control, texts: new Set() };
    wanted.set(place.fault, there);
    there.texts.add(said(fault));
  }
  for (const slot of /** @type {NodeListOf<HTMLElement>} */ (form.querySelectorAll(".fault"))) {
    const there = wanted.get(slot);
    const told = there ? [...there.texts].map((text) => `▲ ${there.label}: ${text}`) : [];
    const lines = told.map((text) => element("span", {}, text));
    if (slot.textContent !== told.join("")) slot.replaceChildren(...lines);
    slot.hidden = !there;
  }
  for (const control of form.querySelectorAll("[aria-invalid]")) control.removeAttribute("aria-invalid");
  for (const { control } of wanted.values()) control.setAttribute("aria-invalid", "true");
}

/** Brings a field into view and under the keyboard. @param {HTMLElement} control */
export function goTo(control) {
  for (let around = control.parentElement; around; around = around.parentElement) {
    if (around instanceof HTMLDetailsElement) around.open = true;
  }
  const inner = control.matches("fieldset") ? control.querySelector("input") : control;
  inner?.focus();
  control.scrollIntoView({ block: "center" });
}
