"""A decision as a page: the first screen, figures with their numbers, tables.

Made from the answer alone, so a recorded decision looks the same for ever; what counts minutes is
given the service's clock. Words are those of the brief.
"""

from service.page.decision import DecisionPage, decision_page
from service.page.scripts import ICON, scripts

__all__ = ["ICON", "DecisionPage", "decision_page", "scripts"]
