"""Why something of the weather is not known, as it is told with the rules that ask for it."""

from __future__ import annotations

import pytest

from decision.rules.against_minima import doubt_of
from decision.weather.report import Element
from tests.rules.builders import attempt, seen

REASONS = ("nothing in force tells the cloud", "'BKN///' does not tell the visibility")


@pytest.mark.parametrize(
    ("unknown", "unread", "element", "why"),
    [
        ((), (), Element.CLOUD, ""),
        ((Element.VISIBILITY,), ("XX",), Element.CLOUD, ""),
        ((Element.CLOUD,), (), Element.CLOUD, REASONS[0]),
        ((Element.VISIBILITY,), (), Element.VISIBILITY, REASONS[1]),
        ((Element.WIND,), (), Element.WIND, REASONS[0]),  # none names it: the first is told
        (
            (Element.CLOUD,),
            ("14O6", "BKN0O4"),
            Element.CLOUD,
            'a report of XKAL cannot be read at "14O6 BKN0O4"',
        ),
    ],
)
def test_the_doubt_of_an_element_is_what_cannot_be_read_or_the_reason_that_names_it(
    unknown: tuple[Element, ...], unread: tuple[str, ...], element: Element, why: str
) -> None:
    weather = seen(unknown=unknown, unknown_reasons=REASONS, unread=unread)
    assert doubt_of(attempt(weather=weather), element) == why
