"""`python -m service.client CASE.json`, installed `approach-ask`: have a server decide a case."""

from __future__ import annotations

import json
import os
import sys
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Final

from decision.legible import visible
from decision.options import EXIT_BAD_INPUT, EXIT_CODE, EXIT_CODES, Options
from service.client import CallFailed, Client, RequestRefused

DEFAULT_SERVER: Final = "http://127.0.0.1:8080"
SERVER, KEY, KEY_FILE = "DECISION_SERVER", "DECISION_KEY", "DECISION_KEY_FILE"
UNAVAILABLE: Final = 69  # of sysexits.h: EX_UNAVAILABLE
NOT_UNDERSTOOD: Final = 76  # EX_PROTOCOL
NOT_ALLOWED: Final = 77  # EX_NOPERM
BAD_INPUT: Final = frozenset({400, 413, 415, 422})
FORBIDDEN: Final = frozenset({401, 403})


def main(
    arguments: Sequence[str] | None = None, environment: Mapping[str, str] = os.environ
) -> int:
    """Have a case decided and recorded, and print the brief; the exit code."""
    asked = _options().parse_args(arguments)
    try:
        case = _read(asked.case)
        key = _key(asked.key_file, environment)
        address = asked.server or environment.get(SERVER, DEFAULT_SERVER)
        client = Client(address, key=key, plain_http=asked.plain_http)
    except (OSError, ValueError) as error:
        return _failed(EXIT_BAD_INPUT, str(error))
    with client:
        try:
            return _decided(client, case, as_json=asked.json)
        except RequestRefused as refused:
            return _failed(_code_of(refused), *refused.lines)
        except CallFailed as error:
            return _failed(UNAVAILABLE, str(error))


def _decided(client: Client, case: bytes, *, as_json: bool) -> int:
    answer = client.decide(case)
    code = EXIT_CODE.get(str(answer.get("verdict")))
    if code is None:
        return _failed(NOT_UNDERSTOOD, "the answer has no verdict that is known here")
    told = json.dumps(answer, indent=1) + "\n" if as_json else client.brief(answer["id"])
    sys.stdout.write(visible(told))
    sys.stdout.flush()  # what could not be printed must not end with the code of a verdict
    return code


def _options() -> Options:
    options = Options(
        name="approach-ask",
        module="service.client",
        description="Have a server decide a case, recorded once, and print the brief.",
        after=f"The key is in {KEY}, or in the file that --key-file or {KEY_FILE} names.\n"
        + EXIT_CODES,
    )
    options.add_argument("case", metavar="CASE.json", help="a case file; - reads standard input")
    options.add_argument(
        "--server", metavar="ADDRESS", help=f"default: {SERVER}, else {DEFAULT_SERVER}"
    )
    options.add_argument("--key-file", metavar="FILE", help="a file with the text of a key")
    options.add_argument("--json", action="store_true", help="print the answer as JSON")
    options.add_argument(
        "--plain-http",
        action="store_true",
        help="let a key go over http to another machine: the network between is trusted",
    )
    return options


def _read(path: str) -> bytes:
    """The bytes of a case, known to be an object of JSON. Raises: OSError, ValueError."""
    content = sys.stdin.buffer.read() if path == "-" else Path(path).read_bytes()
    try:
        found = json.loads(content)
    except ValueError as error:
        raise ValueError(f"{path}: not JSON: {error}") from None
    if not isinstance(found, dict):
        raise ValueError(f"{path}: a case is a JSON object")  # noqa: TRY004 - bad input, like any other
    return content


def _key(file: str | None, environment: Mapping[str, str]) -> str | None:
    """Raises: OSError, ValueError where it is given twice or is empty."""
    given = [name for name in (KEY, KEY_FILE) if environment.get(name)]
    if file is None and len(given) > 1:
        raise ValueError(f"a key is given twice: {' and '.join(given)}")
    named = file or environment.get(KEY_FILE)
    if named is None:
        return environment.get(KEY) or None
    text = Path(named).read_text(encoding="utf-8").strip()
    if not text:
        raise ValueError(f"{named}: no key in it")
    return text


def _code_of(refused: RequestRefused) -> int:
    if refused.status in BAD_INPUT:
        return EXIT_BAD_INPUT
    return NOT_ALLOWED if refused.status in FORBIDDEN else UNAVAILABLE


def _failed(code: int, *lines: str) -> int:
    sys.stderr.write("".join(f"{visible(each)}\n" for each in lines))
    return code


if __name__ == "__main__":
    sys.exit(main())
