// Keeps the board up to date: rows come from the service as it writes them, times are counted here.
//
// What a row says is put in place at once; rows change place only while neither pointer nor focus is
// on the list. What is new stands at its end until then.

import { element } from "./ask.js";
import { ServiceClock, hourMinute, leftMin, passedMin, span, write } from "./clock.js";
import { EventStream } from "./stream.js";

const TICK_MS = 1_000;
const GATHER_MS = 250; // [ASSUMED] events that come together are one look
const UNAUTHORIZED = 401;
const AXIS_START_PX = 10;
const AXIS_PX = 122;
const AXIS_MIN = 60;

const main = /** @type {HTMLElement} */ (document.getElementById("board"));
const list = /** @type {HTMLElement} */ (document.getElementById("rows"));
const clock = new ServiceClock();
const stream = new EventStream("/v1/events", {
  alive: () => {
    newsCame();
    streamed = performance.now();
  },
  event: () => lookSoon(),
  refused: (status) => status === UNAUTHORIZED && askForSignIn(),
});

let news = performance.now();
let streamed = performance.now();
let isPointedAt = false;
let isLooking = false;
let isLookWanted = false;
/** @type {Document | null} */
let waiting = null;
/** @type {number | undefined} */
let soon;
let looked = performance.now();

// --- what came ---

function newsCame() {
  news = performance.now();
}

function lookSoon() {
  soon ??= setTimeout(() => {
    soon = undefined;
    void look();
  }, GATHER_MS);
}

/** Ask for the board as it is now. */
async function look() {
  if (isLooking) {
    isLookWanted = true;
    return;
  }
  isLooking = true;
  isLookWanted = false;
  looked = performance.now();
  const sent = performance.now();
  try {
    const answer = await fetch(location.href, { headers: { Accept: "text/html" }, cache: "no-store" });
    if (answer.status === UNAUTHORIZED) askForSignIn();
    if (answer.ok) take(new DOMParser().parseFromString(await answer.text(), "text/html"), sent);
  } catch {
    // the banner says since when nothing came
  } finally {
    isLooking = false;
  }
  if (isLookWanted) await look();
}

/** @param {Document} page @param {number} sent */
function take(page, sent) {
  const told = page.getElementById("board");
  if (told === null) return;
  newsCame();
  clock.heard(Date.parse(told.dataset.now ?? ""), sent);
  for (const id of ["notes", "told", "hidden"]) replaced(id, page);
  const changes = contents(page);
  if (changes.length > 0) write(document.getElementById("heard"), changes.join(" "));
  waiting = page;
  putInOrder();
  tick();
}

/** @param {string} id @param {Document} page */
function replaced(id, page) {
  const [here, there] = [document.getElementById(id), page.getElementById(id)];
  if (here !== null && there !== null && !here.isEqualNode(there)) here.replaceWith(there.cloneNode(true));
}

// --- rows ---

/** @param {ParentNode} page @returns {HTMLTableRowElement[]} */
const rowsOf = (page) => [...page.querySelectorAll("#rows tbody tr")].map((row) => /** @type {HTMLTableRowElement} */ (row));

/**
 * Put what each row says in place, and rows that are new at the end; what is to be told of that.
 *
 * @param {Document} page
 * @returns {string[]}
 */
function contents(page) {
  const known = new Map(rowsOf(document).map((row) => [row.dataset.flight, row]));
  const at = clock.now === null ? "" : `${hourMinute(clock.now)} `;
  const told = [];
  for (const row of rowsOf(page)) {
    const here = known.get(row.dataset.flight);
    if (here === undefined) {
      told.push(`${at}${row.dataset.flight} is new: ${row.dataset.standing}.`);
      list.querySelector("tbody")?.append(document.importNode(row, true));
    } else {
      if (here.dataset.standing !== row.dataset.standing)
        told.push(`${at}${row.dataset.flight} moved: was ${here.dataset.standing}, is ${row.dataset.standing}.`);
      renew(here, row);
    }
  }
  return told;
}

/**
 * Make a row say what another says, cell by cell; focus stays where it was.
 *
 * @param {HTMLTableRowElement} here
 * @param {HTMLTableRowElement} there
 */
function renew(here, there) {
  here.className = there.className;
  for (const [name, value] of Object.entries(there.dataset)) here.dataset[name] = value;
  for (const [place, cell] of [...there.cells].entries()) {
    const old = here.cells[place];
    if (old.isEqualNode(cell)) continue;
    const focused = [...old.querySelectorAll("a")].findIndex((link) => link === document.activeElement);
    const made = document.importNode(cell, true);
    old.replaceWith(made);
    if (focused >= 0) made.querySelectorAll("a")[focused]?.focus();
  }
}

/** Whether somebody is on the list. */
const isHeld = () => isPointedAt || list.contains(document.activeElement);

/** Bring rows into the order that came last, unless somebody is on the list; then say how many wait. */
function putInOrder() {
  const bar = /** @type {HTMLElement} */ (document.getElementById("waiting"));
  if (waiting === null) return;
  const wanted = rowsOf(waiting).map((row) => row.dataset.flight ?? "");
  const here = rowsOf(document);
  const moving = here.filter((row, place) => row.dataset.flight !== wanted[place]).length;
  if (isHeld() && here.length > 0) {
    bar.hidden = moving === 0;
    write(bar, `${moving} ${moving === 1 ? "row has" : "rows have"} another place by now: move the pointer and the keyboard off the list to see the order.`);
    return;
  }
  bar.hidden = true;
  arrange(waiting, wanted);
  waiting = null;
}

/** @param {Document} page @param {string[]} wanted */
function arrange(page, wanted) {
  const body = list.querySelector("tbody");
  if (body === null || wanted.length === 0) {
    const there = page.getElementById("rows");
    if (there !== null) list.replaceChildren(...[...there.childNodes].map((each) => document.importNode(each, true)));
  } else {
    const rows = new Map(rowsOf(document).map((row) => [row.dataset.flight ?? "", row]));
    if (rowsOf(document).some((row, place) => row.dataset.flight !== wanted[place]))
      body.replaceChildren(...wanted.flatMap((flight) => rows.get(flight) ?? []));
  }
  folded(page);
}

/** The flights of long ago, opened or not as they were. @param {Document} page */
function folded(page) {
  const [here, there] = [document.getElementById("folded"), page.getElementById("folded")];
  if (here === null || there === null || here.contains(document.activeElement)) return;
  const open = here.querySelector("details")?.open;
  const made = document.importNode(there, true);
  const details = made.querySelector("details");
  if (details !== null && open !== undefined) details.open = open;
  here.replaceWith(made);
}

// --- time ---

function tick() {
  const now = clock.now;
  if (now === null) return;
  for (const row of document.querySelectorAll(".flights tbody tr"))
    count(/** @type {HTMLTableRowElement} */ (row), now);
  write(document.getElementById("clock"), hourMinute(now));
  entitle();
  silence(now);
}

/** What is most urgent in the name of the tab, for who looks at another. */
function entitle() {
  const rows = rowsOf(document);
  const old = rows.filter((row) => row.classList.contains("old")).length;
  const now = rows.filter((row) => row.matches(".distress:not(.old), .now:not(.old)")).length;
  const told = [now > 0 ? `${now} NOW` : "", old > 0 ? `${old} ran out` : "", "Board"];
  document.title = told.filter((each) => each !== "").join(", ");
}

/** @param {HTMLTableRowElement} row @param {number} now */
function count(row, now) {
  const { ends, old, decided } = row.dataset;
  const oldAt = Date.parse(old ?? "");
  row.classList.toggle("old", now >= oldAt);
  const [ago, agoUnit] = span(passedMin(oldAt, now));
  write(row.querySelector(".ago"), ago);
  write(row.querySelector(".ago + .unit"), `${agoUnit} ago`);
  write(row.querySelector(".age"), span(passedMin(Date.parse(decided ?? ""), now)).join(" "));
  if (!row.classList.contains("counted") || !ends) return;
  const minutes = leftMin(Date.parse(ends), now);
  const [figure, unit] = span(minutes);
  write(row.querySelector(".count"), figure);
  write(row.querySelector(".count + .unit"), unit);
  mark(row, minutes);
}

/** @param {HTMLTableRowElement} row @param {number} minutes */
function mark(row, minutes) {
  const px = String(AXIS_START_PX + (AXIS_PX * Math.min(minutes, AXIS_MIN)) / AXIS_MIN);
  row.querySelector(".stem.live")?.setAttribute("x2", px);
  row.querySelector(".dot")?.setAttribute("cx", px);
  row.querySelector(".dot")?.classList.toggle("off", minutes > AXIS_MIN);
  row.querySelector(".beyond")?.classList.toggle("off", minutes <= AXIS_MIN);
}

/** Say for how long nothing came; past its bound in a frame of its own. @param {number} now */
function silence(now) {
  const banner = /** @type {HTMLElement} */ (document.getElementById("silence"));
  const bound = Number(main.dataset.silentAfterS) * 1_000;
  const silent = performance.now() - news;
  const seconds = Math.floor(silent / 1_000);
  write(document.getElementById("news"), `last news ${seconds} s ago`);
  const isSilent = silent > bound;
  if (performance.now() - streamed > bound) {
    streamed = performance.now();
    stream.renew(); // a connection that says nothing is dead, whatever else still answers
  }
  banner.hidden = !isSilent;
  if (isSilent)
    write(banner, `No news for ${seconds} s, since ${hourMinute(now - silent)}. The times left are still counted; everything else may be old.`);
}

function askForSignIn() {
  const place = document.getElementById("heard");
  if (place?.querySelector("a")) return;
  // the service shows where to sign in, and leads back here
  place?.replaceChildren("The session has ended: ", element("a", { href: location.href }, "sign in"), " to see what is new.");
}

// --- the page ---

list.addEventListener("pointerenter", () => (isPointedAt = true));
list.addEventListener("pointerleave", () => {
  isPointedAt = false;
  putInOrder();
});
list.addEventListener("focusout", () => setTimeout(putInOrder)); // the focus is not yet where it goes
document.addEventListener("visibilitychange", () => document.visibilityState === "visible" && void look());
addEventListener("pageshow", (event) => event.persisted && void look());
addEventListener("online", () => void look());
setInterval(() => {
  const slept = clock.hasSlept();
  if (slept) stream.renew();
  // decisions that nobody watches come as no event
  if (slept || performance.now() - looked > Number(main.dataset.lookEachS) * 1_000) void look();
  tick();
}, TICK_MS);
void look();
void stream.listen();
