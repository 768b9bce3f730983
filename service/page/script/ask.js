// Asks the service that the page came from. Every address is under the path that the page names.

/**
 * @typedef {object} Answer
 * @property {number} status - Of HTTP; 0: the service could not be reached.
 * @property {any} told - The JSON that was answered, or null.
 * @property {Headers} headers
 */

/** @param {string} path - Beginning with a slash. @returns {string} */
export const address = (path) => (document.body.dataset.root ?? "") + path;

/**
 * @param {string} method
 * @param {string} path
 * @param {unknown} [body] - Sent as JSON.
 * @param {{headers?: Record<string, string>, signal?: AbortSignal}} [more]
 * @returns {Promise<Answer>}
 */
export async function ask(method, path, body, more = {}) {
  /** @type {Record<string, string>} */
  const headers = { Accept: "application/json", ...more.headers };
  if (body !== undefined) headers["Content-Type"] = "application/json";
  try {
    const response = await fetch(address(path), {
      method,
      headers,
      body: body === undefined ? undefined : JSON.stringify(body),
      signal: more.signal,
    });
    const text = await response.text();
    return { status: response.status, told: text ? JSON.parse(text) : null, headers: response.headers };
  } catch (error) {
    if (error instanceof DOMException && error.name === "AbortError") throw error;
    return { status: 0, told: null, headers: new Headers() };
  }
}

/**
 * What went wrong, in the words of the service.
 *
 * @param {Answer} answer
 * @returns {string}
 */
export function wrong(answer) {
  if (answer.status === 0) return "The service cannot be reached.";
  if (answer.status === 401) return "Sign in first: the session has ended.";
  return answer.told?.detail ?? `The service answered ${answer.status}.`;
}

/**
 * An element with text and children; nothing is ever read as markup.
 *
 * @param {string} name
 * @param {Record<string, string>} [attributes]
 * @param {...(Node | string)} children
 * @returns {HTMLElement}
 */
export function element(name, attributes = {}, ...children) {
  const made = document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
  made.append(...children);
  return made;
}
