"""`python -m decision CASE.json`, installed `approach-decision`: decide without a server."""

from __future__ import annotations

import json
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Any, NoReturn

from decision.answer import plain
from decision.brief import brief
from decision.case import case_from_mapping
from decision.errors import InvalidCase, told
from decision.legible import visible
from decision.options import EXIT_BAD_INPUT, EXIT_CODE, EXIT_CODES, Options
from decision.recommend import recommend_answer


def main(arguments: Sequence[str] | None = None) -> int:
    """Decide one case, by default that of the command line; returns the exit code."""
    given = _options().parse_args(arguments)
    try:
        case = case_from_mapping(_read(given.case))
        answer = plain(recommend_answer(case, whole=not given.json))
    except (OSError, ValueError, RecursionError) as error:
        return _bad_input(f"{given.case}: {error}")
    except InvalidCase as error:
        lines = [
            f"{each.pointer}: {each.message}; accepted: {each.accepted}"
            for each in told(error.faults)
        ]
        return _bad_input("\n".join(lines))
    sys.stdout.write(visible(json.dumps(answer, indent=1)) + "\n" if given.json else brief(answer))
    return EXIT_CODE[answer["verdict"]]


def _options() -> Options:
    options = Options(
        name="approach-decision",
        module="decision",
        description="Decide one case without a server and print the brief.",
        after=EXIT_CODES,
    )
    options.add_argument("case", metavar="CASE.json", help="a case file; - reads standard input")
    options.add_argument("--json", action="store_true", help="print the whole answer as JSON")
    return options


def _read(path: str) -> dict[str, Any]:
    text = sys.stdin.read() if path == "-" else Path(path).read_text(encoding="utf-8")
    body = json.loads(text, parse_constant=_refuse)
    if not isinstance(body, dict):
        raise ValueError("a case is a JSON object")  # noqa: TRY004 - bad input, like any other
    return body


def _refuse(constant: str) -> NoReturn:
    raise ValueError(f"{constant} is not a number in JSON")


def _bad_input(text: str) -> int:
    sys.stderr.write(visible(text) + "\n")
    return EXIT_BAD_INPUT


if __name__ == "__main__":
    sys.exit(main())
