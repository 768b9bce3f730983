// Questions that are asked again whenever something changes: one at a time, the last one for sure.

/**
 * `now` does the work, or has it done once more when it is under way; `rest` waits until none is.
 *
 * @param {() => Promise<void>} work @returns {{now: () => void, rest: () => Promise<void>}}
 */
export function oneAtATime(work) {
  let again = false;
  /** @type {Promise<void> | null} */
  let running = null;
  const run = async () => {
    do {
      again = false;
      await work();
    } while (again);
    running = null;
  };
  return {
    now() {
      if (running) again = true;
      else running = run();
    },
    async rest() {
      again = false;
      await running;
    },
  };
}
