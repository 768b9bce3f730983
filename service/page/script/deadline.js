// The page of a decision counts by the service's clock: time left, and that the answer has run out.

import { ask, wrong } from "./ask.js";
import { ServiceClock, hourMinute, leftMin, passedMin, span, write } from "./clock.js";

const TICK_MS = 1_000;
const WATCHED_MS = 60 * 60_000; // [ASSUMED] how long a watch is offered for
const CREATED = 201;

const main = /** @type {HTMLElement} */ (document.querySelector("main[data-until]"));
const until = Date.parse(main.dataset.until ?? "");
const deadline = Date.parse(main.dataset.deadline ?? "");
const title = document.title;
const clock = new ServiceClock();

async function hear() {
  if (!(await clock.ask())) write(document.getElementById("left"), "time not known: the service cannot be reached");
  tick();
}

function tick() {
  const now = clock.now;
  if (now === null) return;
  const isOld = now >= until;
  main.classList.toggle("old", isOld);
  document.title = isOld ? `OLD: ${title}` : title;
  const left = `${span(leftMin(until, now)).join(" ")} left`;
  write(document.getElementById("left"), isOld ? "ran out" : left);
  const isCounted = !isOld && !Number.isNaN(deadline);
  write(document.getElementById("to-go"), isCounted ? `at the latest in ${span(leftMin(deadline, now)).join(" ")}` : "");
  write(document.getElementById("kept-left"), left);
  write(document.getElementById("ran-out"), isOld ? `Ran out ${span(passedMin(until, now)).join(" ")} ago: ask again. The action is old.` : "");
  // told once: what is written here does not change any more
  write(document.getElementById("told-once"), isOld ? `This answer ran out at ${hourMinute(until)}. Its action is old: ask again.` : "");
}

// --- asking again, and watching ---

/** @param {string} text @param {Node[]} more */
function say(text, ...more) {
  document.getElementById("deed")?.replaceChildren(text, ...more);
}

/** @param {HTMLButtonElement} button @param {() => Promise<void>} deed */
function offer(button, deed) {
  button.hidden = false;
  button.addEventListener("click", async () => {
    button.disabled = true;
    say("");
    await deed();
    button.disabled = false;
  });
}

async function again() {
  const { id } = main.dataset;
  const answer = await ask("POST", `/v1/decisions/${id}/again`, {});
  if (answer.status !== CREATED) return say(wrong(answer));
  location.assign(`${document.body.dataset.root ?? ""}/v1/decisions/${answer.told.id}`);
}

async function watch() {
  if (clock.now === null) return say("The service's time is not known: load the page anew.");
  const end = new Date(clock.now + WATCHED_MS).toISOString();
  const answer = await ask("POST", "/v1/watches", { decision_id: main.dataset.id, until: end });
  if (answer.status !== CREATED) return say(wrong(answer));
  say(`Under watch until ${hourMinute(answer.told.until)}: what changes stands on the board.`);
}

for (const [name, deed] of Object.entries({ again, watch })) {
  const button = document.querySelector(`button[data-deed="${name}"]`);
  if (button instanceof HTMLButtonElement) offer(button, deed);
}
document.addEventListener("visibilitychange", () => document.visibilityState === "visible" && void hear());
addEventListener("pageshow", (event) => event.persisted && void hear());
setInterval(() => {
  if (clock.hasSlept() || clock.isDue()) void hear();
  else tick();
}, TICK_MS);
void hear();
