// Aerodromes by their indicators: those that are loaded are offered, and named where they are given.

import { element } from "./ask.js";
import { aerodromeOf, aerodromes, offer } from "./loaded.js";

/** @param {HTMLElement} form */
export function watchPlaces(form) {
  const look = () => {
    for (const field of /** @type {NodeListOf<HTMLInputElement>} */ (form.querySelectorAll('input[list="aerodromes"]'))) {
      void tellName(field);
    }
  };
  form.addEventListener("loaded", look);
  form.addEventListener("input", (event) => {
    const field = /** @type {HTMLInputElement} */ (event.target);
    if (field.getAttribute?.("list") === "aerodromes") void tellName(field);
  });
  void aerodromes().then((all) => offer("aerodromes", all.map(({ icao, name }) => [icao, `${icao} ${name}`])));
  look();
}

/** @param {HTMLInputElement} field */
async function tellName(field) {
  const asked = field.value.trim();
  const found = await aerodromeOf(asked);
  if (asked !== field.value.trim()) return;
  const label = field.labels?.[0];
  let told = label?.querySelector(".place");
  if (!told) {
    told = element("b", { class: "place" });
    label?.append(" ", told);
  }
  told.textContent = asked ? (found?.name ?? "not loaded") : "";
  if (field.id === "c-destination-icao") offerWays(found);
}

/** @param {import("./loaded.js").Aerodrome | null} found */
function offerWays(found) {
  offer("approaches", (found?.approaches ?? []).map(({ id, runway }) => [id, `${id}, runway ${runway}`]));
  offer("runways", (found?.runways ?? []).map(({ ident }) => [ident, ""]));
}
