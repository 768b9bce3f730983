"""What is asked, and of which rules."""

from __future__ import annotations

from dataclasses import dataclass

from decision.case import Case
from decision.rulebooks.rulebook import Rulebook


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """A case under a rulebook: what a rule may look at besides the thing it judges."""

    case: Case
    rulebook: Rulebook
