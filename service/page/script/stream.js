// A stream of events (server-sent events, HTML standard 9.2), read byte by byte: the browser's own
// reader hides the comments by which the service shows that it is alive.

import { address } from "./ask.js";

const FIRST_PAUSE_MS = 1_000; // as the service asks for (`retry`)
const LONGEST_PAUSE_MS = 15_000;

/**
 * @typedef {object} Listener
 * @property {() => void} alive - Bytes came, whatever they say.
 * @property {(kind: string, data: string) => void} event
 * @property {(status: number) => void} refused - The stream was not had; 0: no answer.
 */

/** Blocks of a stream, put together from what comes in pieces. */
export class Blocks {
  #rest = "";
  #kind = "";
  /** @type {string[]} */
  #data = [];
  lastId = "";

  /**
   * Events that are whole with this piece.
   *
   * @param {string} piece
   * @returns {{kind: string, data: string}[]}
   */
  push(piece) {
    const lines = (this.#rest + piece).split(/\r\n|\n|\r(?!$)/);
    this.#rest = lines.pop() ?? "";
    return lines.flatMap((line) => this.#line(line));
  }

  /** @param {string} line */
  #line(line) {
    if (line === "") return this.#end();
    const [, name, value] = /^([^:]*):? ?(.*)$/.exec(line) ?? ["", "", ""];
    if (name === "id") this.lastId = value;
    if (name === "event") this.#kind = value;
    if (name === "data") this.#data.push(value);
    return [];
  }

  #end() {
    const told = { kind: this.#kind || "message", data: this.#data.join("\n") };
    const isEvent = this.#data.length > 0;
    this.#kind = "";
    this.#data = [];
    return isEvent ? [told] : [];
  }
}

/** One connection that is begun anew whenever it ends, from where it was. */
export class EventStream {
  #path;
  #listener;
  #blocks = new Blocks();
  #connection = new AbortController();

  /** @param {string} path @param {Listener} listener */
  constructor(path, listener) {
    this.#path = path;
    this.#listener = listener;
  }

  /** Give the present connection up: it says nothing any more. */
  renew() {
    this.#connection.abort();
  }

  /** Listen for as long as the page stands. */
  async listen() {
    for (let pause = FIRST_PAUSE_MS; ; pause = Math.min(2 * pause, LONGEST_PAUSE_MS)) {
      if (await this.#once()) pause = FIRST_PAUSE_MS;
      await new Promise((done) => setTimeout(done, pause));
    }
  }

  /** One connection until it ends; whether there was one. */
  async #once() {
    this.#connection = new AbortController();
    let opened = false;
    try {
      const answer = await fetch(address(this.#path), {
        headers: this.#blocks.lastId === "" ? {} : { "Last-Event-ID": this.#blocks.lastId },
        cache: "no-store",
        signal: this.#connection.signal,
      });
      if (!answer.ok || answer.body === null) {
        this.#listener.refused(answer.status);
        return false;
      }
      opened = true;
      const reader = answer.body.pipeThrough(new TextDecoderStream()).getReader();
      for (;;) {
        const { done, value } = await reader.read();
        if (done) return true;
        this.#listener.alive();
        for (const { kind, data } of this.#blocks.push(value)) this.#listener.event(kind, data);
      }
    } catch {
      if (!opened) this.#listener.refused(0);
      return opened;
    }
  }
}
