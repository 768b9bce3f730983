"""`python -m decision CASE.json`: decide without a server and print the brief.

Exit code: 0 GO, 10 GO_WITH_CAUTION, 20 NO_GO, 30 INSUFFICIENT_DATA, 64 bad input; any other code
is no decision.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Any, Final, NoReturn

from decision.brief import brief
from decision.case import case_from_mapping
from decision.errors import InvalidCase
from decision.recommend import Verdict, recommend_mapping

EXIT_CODE: Final = {
    Verdict.GO: 0,
    Verdict.GO_WITH_CAUTION: 10,
    Verdict.NO_GO: 20,
    Verdict.INSUFFICIENT_DATA: 30,
}
EXIT_BAD_INPUT: Final = 64  # EX_USAGE of sysexits.h
USAGE: Final = "usage: python -m decision CASE.json [--json]   (- reads standard input)"


def main(arguments: Sequence[str]) -> int:
    """Decide one case; returns the exit code."""
    as_json = "--json" in arguments
    paths = [each for each in arguments if each != "--json"]
    if len(paths) != 1:
        return _bad_input(USAGE)
    try:
        answer = recommend_mapping(case_from_mapping(_read(paths[0])))
    except (OSError, ValueError, RecursionError) as error:
        return _bad_input(f"{paths[0]}: {error}")
    except InvalidCase as error:
        lines = [
            f"{each.pointer}: {each.message}; accepted: {each.accepted}" for each in error.faults
        ]
        return _bad_input("\n".join(lines))
    sys.stdout.write(json.dumps(answer, indent=1) + "\n" if as_json else brief(answer))
    return EXIT_CODE[answer["verdict"]]


def _read(path: str) -> dict[str, Any]:
    text = sys.stdin.read() if path == "-" else Path(path).read_text(encoding="utf-8")
    body = json.loads(text, parse_constant=_refuse)
    if not isinstance(body, dict):
        raise ValueError("a case is a JSON object")  # noqa: TRY004 - bad input, like any other
    return body


def _refuse(constant: str) -> NoReturn:
    raise ValueError(f"{constant} is not a number in JSON")


def _bad_input(text: str) -> int:
    sys.stderr.write(text + "\n")
    return EXIT_BAD_INPUT


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
