"""Pages: a decision with its first screen, figures and tables; the board of recent flights.

Made from the answer alone, so a recorded decision looks the same for ever; what counts minutes is
given the service's clock. Words are those of the brief.
"""

from service.page.board import Board, Shown, board_page
from service.page.compare import Comparison, DecisionBeside, comparison_page
from service.page.decision import DO, DecisionPage, decision_page
from service.page.history import HistoryPage, history_page
from service.page.scripts import ICON, scripts
from service.page.what_if import SLIDERS, names_of_courses

__all__ = [
    "DO",
    "ICON",
    "SLIDERS",
    "Board",
    "Comparison",
    "DecisionBeside",
    "DecisionPage",
    "HistoryPage",
    "Shown",
    "board_page",
    "comparison_page",
    "decision_page",
    "history_page",
    "names_of_courses",
    "scripts",
]
