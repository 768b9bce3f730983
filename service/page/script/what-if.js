// The sliders of a recorded decision: what is decided at other values, told by the service.
import { ask, element, wrong } from "./ask.js";
import { hourMinute } from "./clock.js";

const MOST_FIGURES = 6;
const AXIS = 1000; // units of the drawing above a slider

/**
 * @typedef {object} Slider
 * @property {string} input
 * @property {string} unit
 * @property {HTMLElement} root
 * @property {HTMLInputElement} range
 * @property {number[]} values - Every value that it can have, ascending.
 * @property {number} present - The value of the case.
 */

/** @param {number} value @param {string} unit @returns {string} */
const figure = (value, unit) =>
  unit === "code" ? `${value}` : `${Number(value.toFixed(MOST_FIGURES - 3))} ${unit}`;

/**
 * The values of a slider around what the case has, that value among them.
 *
 * @param {number} present @param {number} around @param {number} step @returns {number[]}
 */
const valuesAround = (present, around, step) => {
  const steps = Math.round(around / step);
  const values = Array.from({ length: 2 * steps + 1 }, (_, n) => present + (n - steps) * step);
  return values.filter((value) => value >= 0);
};

/** @param {number[]} values @param {number} present @returns {number[]} */
const withPresent = (values, present) =>
  [...new Set([...values, present])].sort((one, other) => one - other);

/**
 * Where a value stands on a slider, from 0 to 1: between two of its values in proportion.
 *
 * @param {number[]} values @param {number} value @returns {number | null} Null: beyond its ends.
 */
const placeOf = (values, value) => {
  const after = values.findIndex((each) => each >= value);
  if (after < 0 || value < values[0]) return null;
  const last = values.length - 1;
  if (values[after] === value) return after / last;
  const share = (value - values[after - 1]) / (values[after] - values[after - 1]);
  return (after - 1 + share) / last;
};

/** @param {SVGLineElement | null} line @param {number | null} place */
const mark = (line, place) => {
  for (const end of ["x1", "x2"])
    if (place === null) line?.removeAttribute(end);
    else line?.setAttribute(end, `${place * AXIS}`);
};

/** @param {HTMLElement} section */
function begin(section) {
  const panel = section.querySelector(".what-if");
  const path = `/v1/decisions/${section.dataset.decision}/what-if`;
  const names = JSON.parse(section.dataset.names ?? "{}");
  const actions = JSON.parse(section.dataset.actions ?? "{}");
  /** @type {Slider[]} */
  let sliders = [];
  let asking = false;
  /** What to tell next: one question at a time, and of those that came meanwhile the last. */
  /** @type {(() => Promise<unknown>) | null} */
  let next = null;

  /** @param {() => Promise<unknown>} question */
  const put = async (question) => {
    next = question;
    if (asking) return;
    asking = true;
    while (next !== null) {
      const now = next;
      next = null;
      await now();
    }
    asking = false;
  };

  const moved = () =>
    sliders.filter(({ range, values, present }) => values[Number(range.value)] !== present);
  const inputs = () =>
    Object.fromEntries(moved().map(({ input, range, values }) => [input, values[Number(range.value)]]));

  /** @param {any} row */
  const action = (row) => {
    const { do: what, aerodrome, runway } = row.action;
    return `${actions[what] ?? what} ${aerodrome}${runway ? `, runway ${runway}` : ""}`;
  };
  /** @param {any} row */
  const deadline = (row) => (row.deadline ? hourMinute(row.deadline.at) : "none");

  /** @param {any} turn */
  const showTurn = (turn) => {
    const slider = sliders.find(({ input }) => input === turn.input);
    if (slider === undefined) return;
    const said =
      turn.flips_at === null
        ? "turns the verdict nowhere in its range"
        : `turns the verdict to ${turn.to_verdict} at ${figure(turn.flips_at, slider.unit)}`;
    slider.root.querySelector(".turns")?.replaceChildren(said);
    const place = turn.flips_at === null ? null : placeOf(slider.values, turn.flips_at);
    mark(slider.root.querySelector(".turn"), place);
  };

  /** @param {any} stored @param {any} row @param {boolean} same */
  const showRow = (stored, row, same) => {
    section.querySelector(".said")?.replaceChildren(
      same
        ? `As in the case: ${action(row)}`
        : `${action(row) === action(stored) ? "Still" : "Then"}: ${action(row)}`,
    );
    /** @type {[string, string, string][]} */
    const facts = [
      ["Action", action(stored), action(row)],
      ["Approach", stored.verdict, row.verdict],
      ["Deadline", deadline(stored), deadline(row)],
      ["Fuel state", stored.fuel_state, row.fuel_state],
      ["Ways out", `${stored.ways_out}`, `${row.ways_out}`],
    ];
    section.querySelector(".beside")?.replaceChildren(
      ...facts.flatMap(([name, was, is]) => [
        element("dt", {}, name),
        was === is ? element("dd", {}, is) : element("dd", {}, element("b", {}, is), ` (was ${was})`),
      ]),
    );
    const before = new Map(stored.margins.map((/** @type {any} */ each) => [each.course, each]));
    section.querySelector("tbody")?.replaceChildren(
      ...row.margins.map((/** @type {any} */ each) => course(before.get(each.course), each)),
    );
  };

  /** @param {any} was @param {any} is */
  const course = (was, is) =>
    element(
      "tr",
      is.course && was && was.legal !== is.legal ? { class: "chosen" } : {},
      element("th", { scope: "row" }, names[is.course] ?? is.course.replaceAll("_", " ")),
      element("td", { class: "number" }, room(was)),
      element("td", { class: "number" }, room(is)),
      element("td", {}, is.legal === null ? "not known" : is.legal ? "yes" : "✕ no"),
    );

  /**
   * To 10 kg: what there is rounded down, what is missing the difference of two figures as shown.
   *
   * @param {any} margin
   */
  const room = (margin) => {
    if (!margin || margin.margin_kg === null) return "–";
    const { margin_kg: over, landing_kg: landing, final_reserve_kg: reserve } = margin;
    const tens =
      over >= 0 ? Math.floor(over / 10) : Math.floor(landing / 10) - Math.ceil(reserve / 10);
    return `${tens < 0 ? "−" : "+"}${Math.abs(tens) * 10}`;
  };

  /**
   * One question: the row of the case as the sliders are, and where some of them turn it.
   *
   * @param {string[]} turnsOf
   */
  const tell = async (turnsOf) => {
    panel?.setAttribute("aria-busy", "true");
    const body = { inputs: [inputs()], turns_of: turnsOf };
    const begun = performance.now();
    const answer = await ask("POST", path, body);
    panel?.removeAttribute("aria-busy");
    section.dataset.took = `${Math.round(performance.now() - begun)}`;
    if (answer.status !== 200) {
      const fault = answer.told?.errors?.[0];
      const said = fault ? `${fault.message}; accepted: ${fault.accepted}` : wrong(answer);
      section.querySelector(".said")?.replaceChildren(said);
      return;
    }
    const [tried] = answer.told.tried;
    if (sliders.length > 0) showRow(answer.told.stored, tried.row, moved().length === 0);
    tried.turns.forEach(showTurn);
    return answer.told;
  };

  /** What moved first, at once; then where the others turn it now. @param {Slider} slider */
  const follow = async (slider) => {
    if ((await tell([slider.input])) === undefined || next !== null) return;
    const others = sliders.filter(({ input }) => input !== slider.input);
    await tell(others.map(({ input }) => input));
  };

  /** @param {Slider} slider */
  const show = (slider) => {
    const text = figure(slider.values[Number(slider.range.value)], slider.unit);
    slider.root.querySelector("output")?.replaceChildren(text);
    slider.range.setAttribute("aria-valuetext", text);
  };

  /** @param {HTMLElement} root @param {number} present @returns {Slider} */
  const slider = (root, present) => {
    const { input = "", unit = "", values, around, step } = root.dataset;
    const range = /** @type {HTMLInputElement} */ (root.querySelector("input"));
    const all = withPresent(
      values ? JSON.parse(values) : valuesAround(present, Number(around), Number(step)),
      present,
    );
    const made = { input, unit, root, range, values: all, present };
    range.max = `${all.length - 1}`;
    range.value = `${all.indexOf(present)}`;
    range.disabled = false;
    mark(root.querySelector(".case"), placeOf(all, present));
    range.addEventListener("input", () => {
      show(made);
      void put(() => follow(made));
    });
    show(made);
    return made;
  };

  const start = async () => {
    const roots = /** @type {HTMLElement[]} */ ([...section.querySelectorAll(".slider")]);
    const told = await tell(roots.map((root) => root.dataset.input ?? ""));
    panel?.removeAttribute("hidden");
    if (told === undefined) return;
    const present = new Map(
      told.tried[0].turns.map((/** @type {any} */ turn) => [turn.input, turn.present]),
    );
    for (const root of roots) {
      const known = present.get(root.dataset.input ?? "");
      if (typeof known === "number") sliders.push(slider(root, known));
      else root.querySelector(".turns")?.replaceChildren("not known in this case: nothing to vary");
    }
    showRow(told.stored, told.tried[0].row, true);
    told.tried[0].turns.forEach(showTurn);
    section.querySelector(".as-it-is")?.addEventListener("click", () => {
      for (const each of sliders) {
        each.range.value = `${each.values.indexOf(each.present)}`;
        show(each);
      }
      void put(() => tell(sliders.map(({ input }) => input)));
    });
  };

  // Nothing is asked until somebody comes to look.
  const seen = new IntersectionObserver((entries) => {
    if (!entries.some(({ isIntersecting }) => isIntersecting)) return;
    seen.disconnect();
    void put(start);
  });
  seen.observe(section);
}

const section = document.getElementById("what-if");
if (section !== null) begin(section);
